import type {
  Annotation,
  Axis,
  AxisStyle,
  Figure,
  FigureConfig,
  FigureTemplate,
  Font,
  IntervalBars,
  Layout,
  Shape as LayoutShape,
  Trace,
} from '../../figures/figure.js';
import { arrayOf, boolean, number, object, oneOf, type Shape, text, tuple } from './shape.js';

const datum: Shape = (value, path) =>
  value === null || typeof value === 'string' || (typeof value === 'number' && Number.isFinite(value))
    ? undefined
    : { path, expected: 'a number, a text or null', received: value };

const oneOrMany =
  (item: Shape): Shape =>
  (value, path) =>
    Array.isArray(value) ? arrayOf(item)(value, path) : item(value, path);

const font = object<Font>({}, { family: text, size: number, color: text, weight: number });

const intervalBars = object<IntervalBars>(
  {
    type: oneOf('data'),
    symmetric: boolean,
    array: arrayOf(datum),
    arrayminus: arrayOf(datum),
  },
  { color: text, thickness: number, width: number },
);

const trace = object<Trace>(
  {
    type: oneOf('scatter'),
    mode: oneOf('lines', 'markers', 'lines+markers'),
    name: text,
    x: arrayOf(datum),
    y: arrayOf(datum),
  },
  {
    xaxis: text,
    yaxis: text,
    line: object<NonNullable<Trace['line']>>(
      {},
      { color: text, width: number, dash: oneOf('solid', 'dash', 'dot', 'dashdot'), simplify: boolean },
    ),
    marker: object<NonNullable<Trace['marker']>>(
      {},
      {
        color: oneOrMany(text),
        size: number,
        symbol: oneOrMany(text),
        line: object<{ readonly color?: string; readonly width?: number }>(
          {},
          { color: text, width: number },
        ),
      },
    ),
    fill: oneOf('toself'),
    fillcolor: text,
    error_x: intervalBars,
    error_y: intervalBars,
    connectgaps: boolean,
    hoverinfo: oneOf('skip'),
    hovertemplate: text,
    text: arrayOf(text),
  },
);

const axis = object<Axis>(
  {},
  {
    title: object<NonNullable<Axis['title']>>({ text }, { standoff: number }),
    domain: tuple(number, number),
    anchor: text,
    matches: text,
    range: tuple(number, number),
    type: oneOf('linear', 'log'),
    tickvals: arrayOf(number),
    ticktext: arrayOf(text),
    showticklabels: boolean,
    showgrid: boolean,
    nticks: number,
    fixedrange: boolean,
  },
);

const annotation = object<Annotation>(
  { text, x: number, y: number, xref: text, yref: text, showarrow: boolean },
  {
    xanchor: oneOf('left', 'center', 'right'),
    yanchor: oneOf('top', 'middle', 'bottom'),
    xshift: number,
    yshift: number,
    align: oneOf('left', 'center', 'right'),
    font,
    bgcolor: text,
    borderpad: number,
  },
);

const shade = object<LayoutShape>(
  {
    type: oneOf('line', 'rect'),
    xref: text,
    yref: text,
    x0: number,
    x1: number,
    y0: number,
    y1: number,
  },
  {
    layer: oneOf('below', 'above'),
    fillcolor: text,
    line: object<NonNullable<LayoutShape['line']>>({}, { color: text, width: number, dash: text }),
  },
);

const axisStyle = object<AxisStyle>(
  {
    gridcolor: text,
    gridwidth: number,
    zeroline: boolean,
    showline: boolean,
    linecolor: text,
    linewidth: number,
    ticks: oneOf('outside', ''),
    ticklen: number,
    tickcolor: text,
    automargin: boolean,
    title: object<AxisStyle['title']>({ font, standoff: number }, {}),
  },
  {},
);

type TemplateLayout = FigureTemplate['layout'];

const template = object<FigureTemplate>(
  {
    layout: object<TemplateLayout>(
      {
        font,
        colorway: arrayOf(text),
        paper_bgcolor: text,
        plot_bgcolor: text,
        title: object<TemplateLayout['title']>(
          {
            x: number,
            xref: text,
            xanchor: text,
            y: number,
            yref: text,
            yanchor: text,
            pad: object<TemplateLayout['title']['pad']>({ t: number, l: number }, {}),
            font,
          },
          {},
        ),
        showlegend: boolean,
        hoverlabel: object<TemplateLayout['hoverlabel']>(
          { font, bgcolor: text, bordercolor: text, align: text },
          {},
        ),
        xaxis: axisStyle,
        yaxis: axisStyle,
      },
      {},
    ),
  },
  {},
);

const layout = object<Layout>(
  {
    template,
    title: object<Layout['title']>({ text }, {}),
    height: number,
    margin: object<Layout['margin']>({ l: number, r: number, t: number, b: number }, {}),
    meta: object<Layout['meta']>({ title: text, description: text }, {}),
  },
  {
    annotations: arrayOf(annotation),
    shapes: arrayOf(shade),
    hovermode: oneOf('x', 'closest', 'x unified'),
    xaxis: axis,
    xaxis2: axis,
    yaxis: axis,
    yaxis2: axis,
    yaxis3: axis,
    yaxis4: axis,
  },
);

/** What a picture of this toolkit must look like, for those that come from a file. */
export const figureShape: Shape = object<Figure>(
  { data: arrayOf(trace), layout },
  {
    config: object<FigureConfig>(
      {
        responsive: boolean,
        displaylogo: boolean,
        showSendToCloud: boolean,
        displayModeBar: oneOrBoolean('hover'),
        modeBarButtonsToRemove: arrayOf(text),
      },
      {},
    ),
  },
);

function oneOrBoolean(word: string): Shape {
  return (value, path) => (typeof value === 'boolean' ? undefined : oneOf(word)(value, path));
}
