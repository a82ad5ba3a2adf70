import { type HeaderWords, headerWords } from '../../units/header-words.js';
import { quoted } from '../cells/quoted.js';
import type { UnitsRow, UnitsRowCell } from '../cells/units-row.js';
import { isValueText } from '../cells/value-text.js';
import { COLUMN_ROLES, type ColumnRole, ROLE_RULES } from './column-rules.js';

/** One header, taken apart. */
export interface ParsedColumn {
  readonly index: number;
  readonly header: string;
  readonly parsed: HeaderWords;
}

/** A column that could have a role, and the rule that says so. */
export interface Candidate extends ParsedColumn {
  /** Completing "could be power by …". */
  readonly because: string;
}

/** A column that has the words or the unit of a role and yet is something else. */
export interface Refusal {
  readonly index: number;
  readonly role: ColumnRole;
  /** Completing "is not the power: …". */
  readonly because: string;
}

/** The headers, taken apart; one that states no unit takes the one below it. */
export function parsedColumns(
  headers: readonly string[],
  unitsRow: UnitsRow | undefined,
): readonly ParsedColumn[] {
  return headers.map((header, index) => ({
    index,
    header,
    parsed: withUnitBelow(headerWords(header), unitsRow?.cells[index]),
  }));
}

function withUnitBelow(header: HeaderWords, below: UnitsRowCell | undefined): HeaderWords {
  if (below === undefined || header.unit !== undefined || header.unknownUnit !== undefined) return header;
  const { unit, unknownUnit } = below;
  return {
    ...header,
    ...(unit === undefined ? {} : { unit }),
    ...(unknownUnit === undefined ? {} : { unknownUnit }),
  };
}

/** The columns with the words of the role; where there are none, those with its symbol, then those with its unit alone. */
export function candidatesOf(role: ColumnRole, columns: readonly ParsedColumn[]): readonly Candidate[] {
  const rule = ROLE_RULES[role];
  const possible = columns
    .filter((column) => refusalOf(role, column.parsed) === undefined)
    .map((column) => ({ ...column, word: wordOf(role, column.parsed) }));
  const byWords = possible.flatMap(({ word, ...column }) =>
    word === undefined ? [] : [{ ...column, because: `the word ${quoted(word)}` }],
  );
  if (byWords.length > 0) return byWords;
  const bySymbol = possible
    .filter(({ parsed }) => hasSymbol(role, parsed))
    .map((column) => ({ ...column, because: `the symbol ${quoted(column.parsed.symbol)}` }));
  if (bySymbol.length > 0) return bySymbol;
  return rule.unitAlone
    ? possible
        .filter(({ parsed }) => parsed.unit?.quantity === rule.quantity && !hasWordsOfAnother(role, parsed))
        .map((column) => ({ ...column, because: `its unit ${column.parsed.unit!.symbol}` }))
    : [];
}

/** Columns with the words of a role that are something else by another word or by their unit. */
export function refusals(columns: readonly ParsedColumn[]): readonly Refusal[] {
  return columns.flatMap(({ index, parsed }) =>
    COLUMN_ROLES.flatMap((role) => {
      const because = wordOf(role, parsed) === undefined ? undefined : refusalOf(role, parsed);
      return because === undefined ? [] : [{ index, role, because }];
    }),
  );
}

/** How many of these cells have the words or the symbol of a role; a unit alone counts a little. */
export function recognisedCount(cells: readonly string[]): number {
  let count = 0;
  for (const cell of cells) {
    if (isValueText(cell)) continue;
    const parsed = headerWords(cell);
    if (COLUMN_ROLES.some((role) => wordOf(role, parsed) !== undefined || hasSymbol(role, parsed))) count++;
    else if (parsed.unit !== undefined) count += 0.4;
  }
  return count;
}

/** The words of a header, with the digits at their ends and each lone `t` also together with the word behind it: `t_j`. */
function ruleWords({ words }: HeaderWords): readonly string[] {
  const plain = words.map((text) => text.replace(/\d+$/, ''));
  return plain.flatMap((text, i) =>
    text === 't' && i + 1 < plain.length ? [text, `t${plain[i + 1]}`] : [text],
  );
}

/** A header without a name has no symbol either. */
function hasSymbol(role: ColumnRole, { symbol }: HeaderWords): boolean {
  return symbol !== '' && ROLE_RULES[role].symbols.test(symbol);
}

function wordOf(role: ColumnRole, parsed: HeaderWords): string | undefined {
  return ruleWords(parsed).find((text) => ROLE_RULES[role].words.test(text));
}

/** Why the column is not of that role, or undefined. */
function refusalOf(role: ColumnRole, parsed: HeaderWords): string | undefined {
  const rule = ROLE_RULES[role];
  if (parsed.unit !== undefined && parsed.unit.quantity !== rule.quantity)
    return `its unit is ${parsed.unit.symbol}`;
  const other = ruleWords(parsed).find((text) => rule.unless.test(text));
  return other === undefined ? undefined : `the word ${quoted(other)} means something else`;
}

/** Whether the header belongs to another role of the same quantity: `ambient [°C]` is not the die. */
function hasWordsOfAnother(role: ColumnRole, header: HeaderWords): boolean {
  return COLUMN_ROLES.some(
    (other) => other !== role && header.words.some((text) => ROLE_RULES[other].words.test(text)),
  );
}
