/** A number, or a gap in a line. */
export type Datum = number | string | null;

/** A font of Plotly, as far as we set it. */
export interface Font {
  readonly family?: string;
  readonly size?: number;
  readonly color?: string;
  readonly weight?: number;
}

/** Asymmetric interval bars, in data units from the point. */
export interface IntervalBars {
  readonly type: 'data';
  readonly symmetric: false;
  readonly array: readonly (number | null)[];
  readonly arrayminus: readonly (number | null)[];
  readonly color?: string;
  readonly thickness?: number;
  readonly width?: number;
}

/** One line, band or set of points. The only trace type we need. */
export interface Trace {
  readonly type: 'scatter';
  readonly mode: 'lines' | 'markers' | 'lines+markers';
  readonly name: string;
  readonly x: readonly Datum[];
  readonly y: readonly Datum[];
  readonly xaxis?: string;
  readonly yaxis?: string;
  readonly line?: {
    readonly color?: string;
    readonly width?: number;
    readonly dash?: 'solid' | 'dash' | 'dot' | 'dashdot';
    /** False keeps every point of a smooth line. */
    readonly simplify?: false;
  };
  readonly marker?: {
    readonly color?: string | readonly string[];
    readonly size?: number;
    readonly symbol?: string | readonly string[];
    readonly line?: { readonly color?: string; readonly width?: number };
  };
  readonly fill?: 'toself';
  readonly fillcolor?: string;
  readonly error_x?: IntervalBars;
  readonly error_y?: IntervalBars;
  readonly connectgaps?: false;
  readonly hoverinfo?: 'skip';
  readonly hovertemplate?: string;
  readonly text?: readonly string[];
}

/** One axis of a panel. */
export interface Axis {
  readonly title?: { readonly text: string; readonly standoff?: number };
  readonly domain?: readonly [number, number];
  readonly anchor?: string;
  readonly matches?: string;
  readonly range?: readonly [number, number];
  readonly type?: 'linear' | 'log';
  readonly tickvals?: readonly number[];
  readonly ticktext?: readonly string[];
  readonly showticklabels?: boolean;
  readonly showgrid?: boolean;
  readonly nticks?: number;
  readonly fixedrange?: boolean;
}

/** A text placed on the picture: the direct labels. */
export interface Annotation {
  readonly text: string;
  readonly x: number;
  readonly y: number;
  readonly xref: string;
  readonly yref: string;
  readonly showarrow: false;
  readonly xanchor?: 'left' | 'center' | 'right';
  readonly yanchor?: 'top' | 'middle' | 'bottom';
  readonly xshift?: number;
  readonly yshift?: number;
  readonly align?: 'left' | 'center' | 'right';
  readonly font?: Font;
  readonly bgcolor?: string;
  readonly borderpad?: number;
}

/** A line or a shaded rectangle. */
export interface Shape {
  readonly type: 'line' | 'rect';
  readonly xref: string;
  readonly yref: string;
  readonly x0: number;
  readonly x1: number;
  readonly y0: number;
  readonly y1: number;
  readonly layer?: 'below' | 'above';
  readonly fillcolor?: string;
  readonly line?: { readonly color?: string; readonly width?: number; readonly dash?: string };
}

/** Title, axes, labels and shades of a picture. */
export interface Layout {
  readonly template: FigureTemplate;
  readonly title: { readonly text: string };
  readonly height: number;
  readonly margin: { readonly l: number; readonly r: number; readonly t: number; readonly b: number };
  /** The picture in words, for readers who cannot see it and for viewers without scripts. */
  readonly meta: { readonly title: string; readonly description: string };
  readonly annotations?: readonly Annotation[];
  readonly shapes?: readonly Shape[];
  readonly hovermode?: 'x' | 'closest' | 'x unified';
  readonly xaxis?: Axis;
  readonly xaxis2?: Axis;
  readonly yaxis?: Axis;
  readonly yaxis2?: Axis;
  readonly yaxis3?: Axis;
  readonly yaxis4?: Axis;
}

/** What all our pictures share: fonts, colours, grid. */
export interface FigureTemplate {
  readonly layout: {
    readonly font: Font;
    readonly colorway: readonly string[];
    readonly paper_bgcolor: string;
    readonly plot_bgcolor: string;
    readonly title: {
      readonly x: number;
      readonly xref: 'container';
      readonly xanchor: 'left';
      readonly y: number;
      readonly yref: 'container';
      readonly yanchor: 'top';
      readonly pad: { readonly t: number; readonly l: number };
      readonly font: Font;
    };
    readonly showlegend: boolean;
    readonly hoverlabel: {
      readonly font: Font;
      readonly bgcolor: string;
      readonly bordercolor: string;
      readonly align: 'left';
    };
    readonly xaxis: AxisStyle;
    readonly yaxis: AxisStyle;
  };
}

/** The look of an axis. */
export interface AxisStyle {
  readonly gridcolor: string;
  readonly gridwidth: number;
  readonly zeroline: boolean;
  readonly showline: boolean;
  readonly linecolor: string;
  readonly linewidth: number;
  readonly ticks: 'outside' | '';
  readonly ticklen: number;
  readonly tickcolor: string;
  readonly automargin: boolean;
  readonly title: { readonly font: Font; readonly standoff: number };
}

/** Behaviour of the picture in a page. */
export interface FigureConfig {
  readonly responsive: boolean;
  readonly displaylogo: boolean;
  /** Never: pictures stay where they are. */
  readonly showSendToCloud: false;
  readonly displayModeBar: 'hover' | boolean;
  readonly modeBarButtonsToRemove: readonly string[];
}

/**
 * A picture as Plotly figure JSON: hand `data`, `layout` and `config` to Plotly, or the whole to `reportHtml`.
 * Plain data: survives JSON.
 */
export interface Figure {
  readonly data: readonly Trace[];
  readonly layout: Layout;
  readonly config?: FigureConfig;
}
