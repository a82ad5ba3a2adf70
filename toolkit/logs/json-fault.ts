/** Where a JSON text goes wrong. */
export interface JsonFault {
  readonly line: number;
  readonly column: number;
  /** What should stand there, completing "expected …". */
  readonly expected: string;
  /** What to do, where the slip is a usual one of texts written by hand. */
  readonly remedy?: string;
}

/**
 * Finds the first syntax error of a JSON text [RFC8259], or the first name that stands twice in one object, of which only the
 * last would count [RFC8259, sec. 4]; undefined if there is none. The engines' own messages name a place in some cases, in
 * some versions and in different words.
 */
export function findJsonFault(text: string): JsonFault | undefined {
  let at = 0;
  let expected = '';
  const fail = (what: string): false => {
    expected = what;
    return false;
  };
  const skip = (): void => {
    while (at < text.length && ' \t\n\r'.includes(text[at])) at++;
  };
  const match = (pattern: RegExp): boolean => {
    pattern.lastIndex = at;
    const found = pattern.exec(text);
    if (found !== null) at += found[0].length;
    return found !== null;
  };
  const value = (depth: number): boolean => {
    skip();
    const first = text[at];
    if (depth > 100) return fail('no more than 100 levels of nesting');
    if (first === '{') return members('}', depth, true);
    if (first === '[') return members(']', depth, false);
    if (first === '"') return string();
    return match(/true|false|null|-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y) || fail('a value');
  };
  const string = (): boolean => {
    at++;
    while (at < text.length && text[at] !== '"') {
      if (text.charCodeAt(at) < 32) return fail('the closing double quote on this line');
      if (text[at] !== '\\') at++;
      else if (!match(/\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})/y))
        return fail('a known escape after the backslash');
    }
    at++;
    return at <= text.length || fail('a closing double quote');
  };
  const members = (close: string, depth: number, named: boolean): boolean => {
    const names = new Set<string>();
    at++;
    skip();
    if (text[at] === close) {
      at++;
      return true;
    }
    for (;;) {
      if (named) {
        skip();
        if (text[at] !== '"') return fail('a name in double quotes');
        const start = at;
        if (!string()) return false;
        const name = String(JSON.parse(text.slice(start, at)));
        if (names.has(name)) {
          at = start;
          return fail(`another name than ${JSON.stringify(name)}, which is there already`);
        }
        names.add(name);
        skip();
        if (text[at] !== ':') return fail('":"');
        at++;
      }
      if (!value(depth + 1)) return false;
      skip();
      if (text[at] === close) {
        at++;
        return true;
      }
      if (text[at] !== ',') return fail(`"," or "${close}"`);
      at++;
    }
  };
  let isFine = value(0);
  if (isFine) {
    skip();
    if (at < text.length) isFine = fail('nothing more');
  }
  if (isFine) return undefined;
  const before = text.slice(0, Math.min(at, text.length)).split(/\r\n|\n|\r/);
  const remedy = remedyAt(text, at);
  return {
    line: before.length,
    column: before.at(-1)!.length + 1,
    expected,
    ...(remedy === undefined ? {} : { remedy }),
  };
}

function remedyAt(text: string, at: number): string | undefined {
  const before = text.slice(0, at).trimEnd();
  const rest = text.slice(at);
  if (/^[}\]]/.test(rest) && before.endsWith(',')) return 'take away the comma before it';
  if (/^(?:\/[/*]|#)/.test(rest)) return 'take the remark away: JSON has none';
  if (/^['‘’“”„]/.test(rest)) return 'write straight double quotes: "…"';
  if (/^\d/.test(rest) && /\d,$/.test(before)) return 'write decimals with a point';
  return undefined;
}
