import { normaliseSigns, type Unit, unitFromText } from './units.js';

/** A column header, taken apart. */
export interface HeaderWords {
  /** The words in lower case, without the unit. */
  readonly words: readonly string[];
  /** The words as written: single letters such as `t` and `T` differ by case. */
  readonly symbol: string;
  readonly unit?: Unit;
  /** What stands in brackets where a unit is expected and is neither a unit nor an ordinary word. */
  readonly unknownUnit?: string;
}

/** Words that stand in brackets without being units: `Power (package)`. */
const BRACKET_WORDS =
  /^(?:cpu|core|cores|package|pkg|die|socket|processor|total|sum|average|avg|mean|sensor|measured|log(?:ged)?|all|main|left|right|front|rear|case|chassis|board|room|air|\d+|h{1,2}:mm(?::ss)?(?:[.,]\w+)?|mm:ss|iso(?: ?8601)?|utc|local|date|time|no|min|max|minimum|maximum)$/;

const TIME_BEFORE_STROKE = /(?:^|[^a-z])(?:t|time|elapsed|timestamp|seconds)\s*$/i;

/**
 * Reads a header's words and its unit, in the usual spellings: `Power [W]`, `Power (W)`, `power_w`, `powerW`,
 * `Power W`, `Power, W`, `P/W`, `Power in W`, `temp_degC`, `Temperature °C`.
 *
 * The unit is looked for in brackets first, then after a stroke or `in`, then in the last words. A single bracketed
 * text that is neither a unit nor a plain word comes back as `unknownUnit`, so that a caller can refuse to guess.
 *
 * @example
 * headerWords('CPU Package Power [W]').words; // => ['cpu', 'package', 'power']
 * headerWords('frequencyMHz').unit?.symbol; // => 'MHz'
 */
export function headerWords(header: string): HeaderWords {
  let unit: Unit | undefined;
  let unknownUnit: string | undefined;
  let rest = normaliseSigns(header)
    .replace(/\u00a0/g, ' ')
    .replace(/[[({]([^\])}]*)[\])}]/g, (_, inside: string) => {
      const found = unitFromText(inside);
      if (found !== undefined) {
        unit ??= found;
        return ' ';
      }
      const words = inside.trim().toLowerCase();
      if (words === '') return ' ';
      if (!words.split(/[\s,/]+/).every((word) => BRACKET_WORDS.test(word))) {
        unknownUnit ??= inside.trim();
        return ' ';
      }
      return ` ${inside} `;
    });

  if (unit === undefined) {
    const stroke = /^(.*?)(\/|\bin\b)\s*([^/]+)$/i.exec(rest);
    const found = stroke === null ? undefined : unitFromText(stroke[3]);
    // `t/s` is a time in seconds, `frames/s` a rate.
    const isRate = found?.quantity === 'time' && stroke?.[2] === '/' && !TIME_BEFORE_STROKE.test(stroke[1]);
    if (stroke !== null && found !== undefined && !isRate) {
      unit = found;
      rest = stroke[1];
    }
  }

  let words = splitWords(rest);
  if (unit === undefined) {
    for (const length of [3, 2, 1]) {
      if (words.length < length) continue;
      const tail = words.slice(words.length - length);
      const found =
        length > 1 && tail.some((word) => word.includes('/')) ? undefined : unitFromText(tail.join(' '));
      // A lone letter is a symbol, not a unit: `T`, `t`, `P`, `temperature A`.
      if (found === undefined || rest.trim().length === 1) continue;
      if (found.quantity === 'foreign' && words.at(-1)!.length === 1 && /[a-z]/i.test(words.at(-1)!))
        continue;
      unit = found;
      words = words.slice(0, words.length - length);
      break;
    }
  }
  return {
    words: words.map((word) => word.toLowerCase()),
    symbol: words.join(' '),
    ...(unit === undefined ? {} : { unit }),
    ...(unit !== undefined || unknownUnit === undefined ? {} : { unknownUnit }),
  };
}

/** Splits at blanks, punctuation and capitals inside a word, but leaves units such as `MHz` and `degC` whole. */
function splitWords(text: string): string[] {
  return text
    .split(/[\s_,;:.\-–|#"'=]+/)
    .flatMap((part) =>
      unitFromText(part) !== undefined
        ? [part]
        : part
            .replace(/([\p{Ll}\d])(\p{Lu})/gu, '$1 $2')
            .replace(/(\p{Lu})(\p{Lu}\p{Ll})(?<!Hz)/gu, '$1 $2')
            .split(' '),
    )
    .flatMap((part) => (unitFromText(part) !== undefined ? [part] : part.split('/')))
    .filter((part) => part !== '');
}
