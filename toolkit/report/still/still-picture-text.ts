import { escapeHtml } from '../html-text.js';

/** Where and how a text stands. */
export interface TextPlace {
  readonly x: number;
  readonly y: number;
  readonly sizePx: number;
  readonly color: string;
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly weight?: number;
  /** Degrees, clockwise around the place. */
  readonly turn?: number;
}

/** Average width of a character as a share of the font size, in the widest of our fonts. */
const characterShare = 0.58;

/** A text element. */
export function textSvg(text: string, place: TextPlace): string {
  const { x, y, sizePx, color, anchor = 'start', weight, turn } = place;
  const attributes = [
    `x="${short(x)}" y="${short(y)}" font-size="${sizePx}" fill="${escapeHtml(color)}"`,
    ...(anchor === 'start' ? [] : [`text-anchor="${anchor}"`]),
    ...(weight === undefined ? [] : [`font-weight="${weight}"`]),
    ...(turn === undefined ? [] : [`transform="rotate(${turn} ${short(x)} ${short(y)})"`]),
  ];
  return `<text ${attributes.join(' ')}>${escapeHtml(text)}</text>`;
}

/** How wide a text is, about. */
export function textWidthPx(text: string, sizePx: number): number {
  return [...text].length * sizePx * characterShare;
}

/** A line of a figure's title: the finding in large type, what it holds for in small. */
export interface TitleLine {
  readonly text: string;
  readonly sizePx?: number;
  readonly color?: string;
}

/** The lines of a figure's title, which marks line ends and small type as Plotly does. */
export function titleLines(text: string): readonly TitleLine[] {
  return text.split('<br>').map((line) => {
    const style = /^<span style="([^"]*)">/.exec(line)?.[1] ?? '';
    const sizePx = /font-size:(\d+)px/.exec(style)?.[1];
    const color = /color:(#[0-9a-f]{3,8})/i.exec(style)?.[1];
    return {
      text: plainFigureText(line),
      ...(sizePx === undefined ? {} : { sizePx: Number(sizePx) }),
      ...(color === undefined ? {} : { color }),
    };
  });
}

/** A text of a figure as a person reads it: Plotly's marks gone, escaped characters themselves again. */
export function plainFigureText(text: string): string {
  return text
    .replaceAll(/<\/?(?:span|b|i|sub|sup|em|strong)(?:\s[^>]*)?>/g, '')
    .replaceAll('<br>', ' ')
    .replaceAll('&#123;', '{')
    .replaceAll('&#36;', '$')
    .replaceAll('&gt;', '>')
    .replaceAll('&lt;', '<')
    .replaceAll('&amp;', '&');
}

/** A number with at most one decimal: a tenth of a pixel is enough. */
export function short(value: number): string {
  return String(Math.round(value * 10) / 10);
}
