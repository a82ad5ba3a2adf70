/**
 * The colours of our pictures, for light paper and for a dark page.
 *
 * Blue and red are those of P. Tol's high-contrast scheme, made for colour-blind readers and for greyscale print;
 * its yellow is darkened here until a thin line of it is readable on white [Tol2021]. Their lightness falls in
 * three clear steps, so that they stay apart in greyscale; a fourth series takes the colour of the text. Every
 * line is also labelled in words or dashed differently: colour never carries a meaning alone.
 */
export interface Palette {
  readonly paper: string;
  /** Text and limit lines. */
  readonly ink: string;
  /** Secondary text and reference lines. */
  readonly quiet: string;
  readonly axis: string;
  readonly grid: string;
  readonly blue: string;
  readonly red: string;
  readonly ochre: string;
  readonly blueBand: string;
  readonly redBand: string;
  readonly ochreBand: string;
  /** Load segments. */
  readonly shade: string;
  /** The steady window. */
  readonly strongShade: string;
}

/** On white paper. */
export const lightPalette: Palette = {
  paper: '#ffffff',
  ink: '#1d2731',
  quiet: '#56636e',
  axis: '#9aa5ad',
  grid: '#e2e6e9',
  blue: '#004488',
  red: '#bb5566',
  ochre: '#ae8414',
  blueBand: 'rgba(0,68,136,0.16)',
  redBand: 'rgba(187,85,102,0.20)',
  ochreBand: 'rgba(174,132,20,0.20)',
  shade: 'rgba(86,99,110,0.08)',
  strongShade: 'rgba(86,99,110,0.22)',
};

/** On a dark page. */
export const darkPalette: Palette = {
  paper: '#15191c',
  ink: '#e4e8eb',
  quiet: '#a7b1b9',
  axis: '#65707a',
  grid: '#30383e',
  blue: '#6fa8e6',
  red: '#ee8596',
  ochre: '#ddaa33',
  blueBand: 'rgba(111,168,230,0.24)',
  redBand: 'rgba(238,133,150,0.24)',
  ochreBand: 'rgba(221,170,51,0.24)',
  shade: 'rgba(167,177,185,0.10)',
  strongShade: 'rgba(167,177,185,0.26)',
};

/** Each light colour with its dark twin, for viewers that follow the reader's theme. */
export const darkTwins: Readonly<Record<string, string>> = Object.fromEntries(
  (Object.keys(lightPalette) as (keyof Palette)[]).map((name) => [lightPalette[name], darkPalette[name]]),
);
