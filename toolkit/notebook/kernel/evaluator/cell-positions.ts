import { SourceMap } from 'node:module';
import type { ConversionMaps } from './tslab-parts.js';

// Whatever a cell puts in its place.
const parseJson = JSON.parse;

/** A place in a cell as a person counts it: first line and first column are 1. */
export interface CellPosition {
  readonly cell: number;
  readonly line: number;
  readonly column: number;
}

// The converter puts `export {};` before the cell; the executor puts a function head before the generated code.
const linesBeforeCell = 1;
const functionHead = {
  sync: '(function(exports, require) { ',
  async: '(async function(exports, require) { ',
};
const frameInCell = /kpw-cell-(\d+):(\d+):(\d+)/;

interface ConvertedCell {
  readonly code: string;
  readonly maps: ConversionMaps;
  readonly headLength: number;
  readonly generatedLineCount: number;
}

/** Where generated code came from: remembers every converted cell and turns stack frames into cell lines. */
export class CellPositions {
  readonly #cells = new Map<number, ConvertedCell>();

  /** Remembers a cell; returns the comment that gives its generated code a name in stack traces. */
  remember(
    cell: number,
    code: string,
    converted: {
      readonly output: string;
      readonly hasTopLevelAwait: boolean;
      readonly maps?: ConversionMaps;
    },
  ): string {
    const headLength = (converted.hasTopLevelAwait ? functionHead.async : functionHead.sync).length;
    const generatedLineCount = converted.output.split('\n').length;
    if (converted.maps !== undefined)
      this.#cells.set(cell, { code, maps: converted.maps, headLength, generatedLineCount });
    return `\n//# sourceURL=kpw-cell-${cell}`;
  }

  /** The place a stack frame names, or `undefined` where the frame is not in a cell's own code. */
  ofFrame(frame: string): CellPosition | undefined {
    const match = frameInCell.exec(frame);
    if (match === null) return undefined;
    const [cell = 0, line = 0, column = 0] = match.slice(1).map(Number);
    const converted = this.#cells.get(cell);
    if (converted === undefined) return { cell, line, column };
    if (line > converted.generatedLineCount) return undefined; // the call of the function around the cell
    const generatedColumn = column - 1 - (line === 1 ? converted.headLength : 0);
    const inModule = originOf(converted.maps.toCommonJs, line - 1, Math.max(0, generatedColumn));
    const inCell = inModule && originOf(converted.maps.toModule, inModule.line, inModule.column);
    if (inCell === undefined) return { cell, line, column };
    return { cell, line: Math.max(1, inCell.line + 1 - linesBeforeCell), column: inCell.column + 1 };
  }

  /** The cell's line at a position, with a mark below the column. */
  excerpt(position: CellPosition): string[] {
    const text = this.#cells.get(position.cell)?.code.split('\n')[position.line - 1];
    return text === undefined ? [] : excerptOf(text, position);
  }
}

/** Whether a stack frame is in a cell or in the function around it. */
export function isInCell(frame: string): boolean {
  return frameInCell.test(frame);
}

/** A source line with its number and a mark below the column. */
export function excerptOf(
  text: string,
  position: { readonly line: number; readonly column: number },
): string[] {
  const gutter = `  ${position.line} | `;
  return [
    `${gutter}${text}`,
    `${' '.repeat(gutter.length - 2)}| ${' '.repeat(Math.max(0, position.column - 1))}^`,
  ];
}

function originOf(
  mapText: string,
  line: number,
  column: number,
): { line: number; column: number } | undefined {
  const entry = new SourceMap(parseJson(mapText) as ConstructorParameters<typeof SourceMap>[0]).findEntry(
    line,
    column,
  );
  return 'originalLine' in entry && entry.originalLine !== undefined
    ? { line: entry.originalLine, column: entry.originalColumn }
    : undefined;
}
