import type { Estimate } from '../numerics/estimate.js';
import { formatEstimate } from '../numerics/format-estimate.js';
import { lightPalette } from './palette.js';

// What fits into 660 px, the width on paper, in the widest of our fonts.
const titleLineLength = 60;
const subtitleLineLength = 90;
const longestLabel = 48;

/**
 * Text that a picture shows exactly as it is: marks that Plotly or a formula typesetter would act on are
 * escaped, control characters become blanks.
 */
export function literal(text: string): string {
  return text
    .replace(controlCharacters, ' ')
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('$', '&#36;')
    .replaceAll('%{', '%&#123;');
}

/** A name short enough for a picture; the full one stands in the tables. */
export function shortened(text: string, length: number = longestLabel): string {
  const characters = [...text.replace(controlCharacters, ' ').trim()];
  return characters.length <= length ? characters.join('') : `${characters.slice(0, length - 1).join('')}…`;
}

/**
 * Breaks a text between words into lines of at most `length` characters (a longer word keeps its own line). A
 * number stays with its ± and its unit, a name in quotes in one piece.
 */
export function wrapped(text: string, length: number): readonly string[] {
  return linesOf(wordsOf(text), length);
}

/** The pieces that stay on one line, glued together. */
function wordsOf(text: string): readonly string[] {
  return text
    .replace(/ ± /g, `${glue}±${glue}`)
    .replace(/(?<![^ ])'[^']{1,24}'/g, (name) => name.replaceAll(' ', glue))
    .replace(/(\d) (?=(?:[%°]|[JKMWm1](?:Hz|m|in)?\b|s\b))/g, `$1${glue}`)
    .split(/[ \t\n]+/)
    .filter((part) => part !== '');
}

function linesOf(words: readonly string[], length: number): readonly string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of words) {
    if (line !== '' && line.length + 1 + word.length > length) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  return [...lines, line].filter((part) => part !== '').map((part) => part.replaceAll(glue, ' '));
}

/** As many lines as `wrapped` makes, as equal in length as they can be: no word stands alone on the last one. */
export function balanced(text: string, length: number): readonly string[] {
  const words = wordsOf(text);
  let best = linesOf(words, length);
  if (best.length < 2) return best;
  for (let shorter = length - 1; shorter > 0; shorter--) {
    const lines = linesOf(words, shorter);
    if (lines.length !== best.length) break;
    best = lines;
  }
  return best;
}

/** A mark that no text contains once controls are gone. */
const glue = '\u0001';

/** An uncertain number for a label, with a star where it is extrapolated; the picture says below its title what that is. */
export function starred(estimate: Estimate, unit: string): string {
  return formatEstimate(estimate, unit)
    .replace(/ \(extrapolated\)$/, '*')
    .replace(/, extrapolated\)$/, ')*');
}

/** Whether `starred` would mark a number. */
export function isExtrapolated(estimate: Estimate): boolean {
  return estimate.kind === 'estimated' && estimate.extrapolated === true;
}

/** The finding in words with what it holds for in smaller type below, and the height it takes. */
export function titleBlock(
  title: string,
  subtitle: string,
): { readonly text: string; readonly heightPx: number } {
  const titleLines = balanced(title, titleLineLength);
  const subtitleLines = balanced(subtitle, subtitleLineLength);
  const small = subtitleLines.map(
    (line) =>
      `<span style="font-size:13px;font-weight:400;color:${lightPalette.quiet}">${literal(line)}</span>`,
  );
  return {
    text: [...titleLines.map(literal), ...small].join('<br>'),
    heightPx: 22 + titleLines.length * 23 + subtitleLines.length * 22,
  };
}

// C0 and C1 controls, line and paragraph separators, and marks that change the writing direction.
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is replaced
const controlCharacters = /[\u0000-\u001f\u007f-\u009f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069]/g;
