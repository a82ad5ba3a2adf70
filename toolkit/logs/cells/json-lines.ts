import type { Finding } from '../../runs/finding.js';
import { LISTED_LINE_COUNT } from '../../runs/quality/listed-lines.js';
import { LogFormatError } from '../log-format-error.js';
import { decodeBytes } from './decode.js';

/** How deep objects may lie in one another. */
const DEEPEST = 8;

/** How many objects are looked at to find the names. */
const HEAD_OBJECTS = 200;

/** Whether a text begins as JSON: an object or a list. Remarks above it, lines that begin with `#`, are passed over. */
export function beginsAsJson(body: Uint8Array): '{' | '[' | undefined {
  let isRemark = false;
  for (const byte of body) {
    if (byte === 10 || byte === 13) isRemark = false;
    else if (byte === 0x23) isRemark = true;
    if (isRemark || byte === 32 || byte === 9 || byte === 10 || byte === 13) continue;
    return byte === 0x7b ? '{' : byte === 0x5b ? '[' : undefined;
  }
  return undefined;
}

/**
 * Turns lines with one JSON object each [RFC8259] into delimited text with one row per line, so that what follows sees
 * one kind of table: names become headers, names within names are joined by a blank, values of lists are numbered. Line n
 * of the log becomes record n + 1, below the header.
 */
export class JsonLines {
  private names: readonly string[] | undefined;
  private known: ReadonlySet<string> = new Set();
  private rest: Uint8Array = new Uint8Array(0);
  private line = 0;
  private readonly encoder: TextEncoder = new TextEncoder();
  private lateCount = 0;
  private readonly lateNames = new Set<string>();
  private readonly lateLines: number[] = [];

  /** The same lines as delimited text; the header comes with the first of them. */
  convert(chunk: Uint8Array, isLast: boolean): Uint8Array {
    const bytes = this.withRest(chunk);
    const end = isLast ? bytes.length : bytes.lastIndexOf(10) + 1;
    this.rest = bytes.slice(end);
    if (end === 0) return new Uint8Array(0);
    const lines = decodeBytes(bytes.subarray(0, end)).split(/\r\n|\n|\r/);
    const endsLine = lines.at(-1) === '';
    if (endsLine) lines.pop();
    const written: string[] = [];
    if (this.names === undefined) {
      this.names = this.namesOf(lines);
      this.known = new Set(this.names);
      written.push(this.names.map(quotedCell).join(','));
    }
    for (const text of lines) {
      this.line++;
      written.push(this.rowOf(text));
    }
    return this.encoder.encode(`${written.join('\n')}${endsLine ? '\n' : ''}`);
  }

  /** What a person should know about the lines. */
  findings(): readonly Finding[] {
    if (this.lateCount === 0) return [];
    return [
      {
        code: 'json-late-names',
        severity: 'note',
        message: `${this.lateCount} lines have names that none of the first lines has (${[...this.lateNames].slice(0, 5).join(', ')}); they were not looked at.`,
        remedy: 'if they matter, write every name into the first line, with null where there is no value',
        count: this.lateCount,
        lines: this.lateLines,
      },
    ];
  }

  private withRest(chunk: Uint8Array): Uint8Array {
    if (this.rest.length === 0) return chunk;
    const bytes = new Uint8Array(this.rest.length + chunk.length);
    bytes.set(this.rest);
    bytes.set(chunk, this.rest.length);
    return bytes;
  }

  private namesOf(lines: readonly string[]): readonly string[] {
    const names = new Set<string>();
    let readable = 0;
    for (const text of lines.slice(0, HEAD_OBJECTS)) {
      const cells = flatObject(text);
      if (cells === undefined) continue;
      readable++;
      for (const name of cells.keys()) names.add(name);
    }
    if (readable > 0) return [...names];
    throw new LogFormatError([
      {
        code: 'json-lines',
        line: 1,
        message: 'the text begins as JSON, but no line holds a whole object',
        remedy: 'write one object per line: {"time_s": 0, "temperature_c": 31.5, "power_w": 64.8}',
      },
    ]);
  }

  /** A line that is no object becomes a row of one cell, which no table of ours has. */
  private rowOf(text: string): string {
    if (text.trim() === '') return '';
    const cells = flatObject(text);
    if (cells === undefined) return quotedCell(text.trim());
    let isLate = false;
    for (const name of cells.keys()) {
      if (this.known.has(name)) continue;
      isLate = true;
      this.lateNames.add(name);
    }
    if (isLate) {
      this.lateCount++;
      if (this.lateLines.length < LISTED_LINE_COUNT) this.lateLines.push(this.line);
    }
    return this.names!.map((name) => quotedCell(cells.get(name) ?? '')).join(',');
  }
}

/** Names and values of one line, or undefined if it is no object. */
function flatObject(text: string): ReadonlyMap<string, string> | undefined {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return undefined;
  }
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return undefined;
  const cells = new Map<string, string>();
  flatten(value, '', cells, 0);
  return cells;
}

function flatten(value: unknown, name: string, cells: Map<string, string>, depth: number): void {
  if (typeof value === 'object' && value !== null && depth < DEEPEST) {
    for (const [key, inner] of Object.entries(value))
      flatten(inner, name === '' ? key : `${name} ${key}`, cells, depth + 1);
  } else cells.set(name, value === null ? '' : typeof value === 'object' ? '…' : String(value));
}

/** A cell that stays on its line, so that lines are counted as in the log. */
function quotedCell(value: string): string {
  const text = value.replaceAll(/[\n\r]+/g, ' ');
  return /[",]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
