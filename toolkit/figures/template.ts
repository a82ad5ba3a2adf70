import type { AxisStyle, FigureConfig, FigureTemplate } from './figure.js';
import { lightPalette } from './palette.js';

/** Fonts every system has; none is loaded. */
const fontFamily: string =
  'system-ui, -apple-system, "Segoe UI", "Noto Sans", "Liberation Sans", Arial, sans-serif';

const { paper, ink, quiet, axis, grid, blue, red, ochre } = lightPalette;

const axisStyle: AxisStyle = {
  gridcolor: grid,
  gridwidth: 1,
  zeroline: false,
  showline: true,
  linecolor: axis,
  linewidth: 1,
  ticks: 'outside',
  ticklen: 4,
  tickcolor: axis,
  automargin: true,
  title: { font: { size: 14, color: ink }, standoff: 10 },
};

/**
 * The look of all our pictures, as a Plotly template of our own: for figures that you make yourself.
 *
 * @example
 * figureTemplate.layout.showlegend; // => false
 */
export const figureTemplate: FigureTemplate = {
  layout: {
    font: { family: fontFamily, size: 13, color: ink },
    colorway: [blue, red, ochre, quiet],
    paper_bgcolor: paper,
    plot_bgcolor: paper,
    title: {
      x: 0,
      xref: 'container',
      xanchor: 'left',
      y: 1,
      yref: 'container',
      yanchor: 'top',
      // Plotly sets the first of several lines on the pad, not below it.
      pad: { t: 29, l: 12 },
      font: { size: 17, color: ink, weight: 600 },
    },
    showlegend: false,
    hoverlabel: { font: { size: 13, color: ink }, bgcolor: paper, bordercolor: axis, align: 'left' },
    xaxis: axisStyle,
    yaxis: axisStyle,
  },
};

/** Behaviour in a page: follows the width, no maker's mark, no upload, few tools and these on demand. */
export const figureConfig: FigureConfig = {
  responsive: true,
  displaylogo: false,
  showSendToCloud: false,
  displayModeBar: 'hover',
  modeBarButtonsToRemove: ['zoom2d', 'pan2d', 'select2d', 'lasso2d', 'zoomIn2d', 'zoomOut2d', 'autoScale2d'],
};
