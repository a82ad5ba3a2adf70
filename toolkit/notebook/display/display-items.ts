import type { CapChoice } from '../../cap/choose/cap-choice.js';
import type { CapFrontier } from '../../cap/frontier/frontier.js';
import type { RunPlan } from '../../cap/plan/run-plan.js';
import type { CoolerShortlist } from '../../cap/shortlist/cooler-shortlist.js';
import type { Figure } from '../../figures/figure.js';
import { figureOfCapChoice } from '../../figures/figure-of-cap-choice.js';
import { figureOfComparison } from '../../figures/figure-of-comparison.js';
import { figureOfCycles } from '../../figures/figure-of-cycles.js';
import { figureOfFrontier } from '../../figures/figure-of-frontier.js';
import { figureOfPowerCurve } from '../../figures/figure-of-power-curve.js';
import { figureOfRun } from '../../figures/figure-of-run.js';
import { figureOfShortlist } from '../../figures/figure-of-shortlist.js';
import { figureOfSlowdown } from '../../figures/figure-of-slowdown.js';
import { figureOfStepResponse, hasKnownStages } from '../../figures/figure-of-step-response.js';
import type { Study } from '../../logs/study/study.js';
import type { ColumnDescription } from '../../logs/table/describe-columns.js';
import { formatEstimate } from '../../numerics/format-estimate.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { ReportItem } from '../../report/page/report-html.js';
import type { Frame } from '../../report/tables/frame.js';
import { highestCapFirst } from '../../report/tables/highest-cap-first.js';
import type { Table, TableCell } from '../../report/tables/table.js';
import { tableOfAgeing, tableOfAssumptions } from '../../report/tables/table-of-ageing.js';
import { tableOfChoices, tableOfNeighbours } from '../../report/tables/table-of-choices.js';
import { tableOfColumns } from '../../report/tables/table-of-columns.js';
import { tableOfComparison, tableOfPairs } from '../../report/tables/table-of-comparison.js';
import { tableOfCooler, tableOfCoolers } from '../../report/tables/table-of-cooler.js';
import { tableOfCurve } from '../../report/tables/table-of-curve.js';
import { tableOfCycles } from '../../report/tables/table-of-cycles.js';
import { tableOfFrontier } from '../../report/tables/table-of-frontier.js';
import { tableOfPlan } from '../../report/tables/table-of-plan.js';
import { tableOfRuns } from '../../report/tables/table-of-runs.js';
import { tableOfShortlist } from '../../report/tables/table-of-shortlist.js';
import { tableOfSlowdown } from '../../report/tables/table-of-slowdown.js';
import { tableOfStudy } from '../../report/tables/table-of-study.js';
import type { Finding } from '../../runs/finding.js';
import type { Run } from '../../runs/run.js';
import type { SlowdownCheck } from '../../runs/slowdown/slowdown.js';
import type { CoolerComparison } from '../../thermal/compare/cooler-comparison.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import type { JointFit } from '../../thermal/joint/joint-fit.js';
import type { CycleCount } from '../../wear/cycle-count.js';
import type { RelativeAgeing } from '../../wear/relative-ageing.js';
import type { CheckedAnswer } from '../workshop/check.js';
import {
  isEstimate,
  isMean,
  listTable,
  nameInWords,
  quantitiesTable,
  seriesTable,
} from './display-quantities.js';

type Items = readonly ReportItem[];

/** What is shown of a frame or of one column of it. */
type FrameRows = Pick<Frame, 'columns' | 'shape' | 'values'> & { readonly index?: unknown };

/** Results that show in a way of their own, by their `kind`. */
interface Kinds {
  readonly table: Table;
  readonly 'cap-choice': CapChoice;
  readonly 'cap-frontier': CapFrontier;
  readonly 'checked-answer': CheckedAnswer;
  readonly 'column-description': ColumnDescription;
  readonly 'cooler-comparison': CoolerComparison;
  readonly 'cooler-model': CoolerModel;
  readonly 'cooler-shortlist': CoolerShortlist;
  readonly 'cycle-count': CycleCount;
  readonly 'joint-fit': JointFit;
  readonly 'power-curve': PowerCurve;
  readonly 'relative-ageing': RelativeAgeing;
  readonly 'run-plan': RunPlan;
  readonly 'slowdown-check': SlowdownCheck;
  readonly study: Study;
}

/** What one result of a kind shows, from top to bottom. A new kind is one line here and one in `Kinds`. */
const itemsOfKind: { readonly [Kind in keyof Kinds]: (value: Kinds[Kind]) => Items } = {
  table: (of) => [table(of)],
  'cap-choice': (of) => [...sentenceAndPicture(of), table(tableOfNeighbours(of)), ...cautions(of.cautions)],
  'cap-frontier': (of) => [
    sentence(of.summary),
    figure(figureOfFrontier(of)),
    table(tableOfFrontier(of)),
    ...cautions(of.cautions),
  ],
  'checked-answer': (of) => [sentence(of.reply)],
  'column-description': (of) => [table(tableOfColumns(of))],
  'cooler-comparison': (of) => [
    sentence(of.summary),
    figure(figureOfComparison(of)),
    table(tableOfComparison(of)),
    ...(of.pairs.length === 0 ? [] : [table(tableOfPairs(of))]),
    ...findings(of.findings),
  ],
  'cooler-model': itemsOfCooler,
  'cooler-shortlist': (of) => [
    sentence(of.summary),
    figure(figureOfShortlist(of)),
    table(tableOfShortlist(of)),
    ...cautions(of.cautions),
  ],
  'cycle-count': (of) => [
    sentence(of.summary),
    ...(of.cycles.length === 0 ? [] : [figure(figureOfCycles(of)), table(tableOfCycles(of))]),
    ...findings(of.findings),
  ],
  'joint-fit': (of) => [
    ...itemsOfCoolers(of.models),
    ...of.enclosures.flatMap((enclosure) => displayItems(enclosure) ?? []),
    ...findings(of.findings),
  ],
  'power-curve': (of) => [figure(figureOfPowerCurve(of)), table(tableOfCurve(of)), ...findings(of.findings)],
  'relative-ageing': (of) => [
    sentence(of.summary),
    table(tableOfAgeing(of)),
    table(tableOfAssumptions(of)),
    ...cautions(of.cautions),
  ],
  'run-plan': (of) => [
    sentence(of.summary),
    ...(of.candidates.length === 0 ? [] : [table(tableOfPlan(of))]),
    ...findings([
      ...of.assumptions.map((message) => ({ code: 'assumption', severity: 'note', message }) as const),
      ...of.cautions.map((message) => ({ code: 'caution', severity: 'warning', message }) as const),
    ]),
  ],
  'slowdown-check': (of) => [
    sentence(of.summary),
    figure(figureOfSlowdown(of)),
    table(tableOfSlowdown(of)),
    ...findings(of.findings),
  ],
  study: (of) => [table(tableOfStudy(of))],
};

/** What several results of one kind show: side by side first. */
const itemsOfListOf: { readonly [Kind in keyof Kinds]?: (list: readonly Kinds[Kind][]) => Items } = {
  'cap-choice': itemsOfChoices,
  'cooler-model': itemsOfCoolers,
  'cycle-count': (list) => [figure(figureOfCycles(list)), ...list.map((one) => table(tableOfCycles(one)))],
};

const mostRows = 20;

/**
 * What a value shows of itself, from top to bottom: sentence, picture, table, findings, cautions. Results without a
 * way of their own show their sentence, their numbers with units and their findings. `undefined` for values that are
 * none of ours.
 */
export function displayItems(value: unknown): Items | undefined {
  if (Array.isArray(value)) return itemsOfList(value);
  if (!isRecord(value)) return undefined;
  if (isRun(value)) return [figure(figureOfRun(value)), ...findings(value.findings)];
  if (isFigure(value)) return [figure(value)];
  if (isFrame(value) || isColumn(value)) return [table(tableOfFrame(value))];
  if (isEstimate(value))
    return [sentence(formatEstimate(value, value.kind === 'estimated' ? value.unit : ''))];
  const kind = value['kind'];
  if (typeof kind !== 'string') return isResult(value) ? itemsOfOther(value) : undefined;
  return isOwnKind(kind) ? (itemsOfKind[kind] as (value: unknown) => Items)(value) : itemsOfOther(value);
}

/** Whether a value is a cap with its scenario and cautions, as `chooseCap` returns it. */
export function isChoice(value: unknown): value is CapChoice {
  return isRecord(value) && value['kind'] === 'cap-choice';
}

function itemsOfList(list: readonly unknown[]): Items | undefined {
  if (list.length === 0) return undefined;
  if (list.every(isRun)) return [table(tableOfRuns(list))];
  if (list.every(isFinding)) return findings(list);
  const kinds = new Set(list.map((one) => (isRecord(one) ? one['kind'] : undefined)));
  const [kind] = kinds;
  if (kinds.size !== 1 || typeof kind !== 'string') {
    const numbers = list.every(isResult) ? listTable(list) : undefined;
    return numbers === undefined ? undefined : [table(numbers)];
  }
  const show = isOwnKind(kind) ? itemsOfListOf[kind] : undefined;
  return show === undefined
    ? list.flatMap((one) => displayItems(one) ?? [])
    : (show as (list: readonly unknown[]) => Items)(list);
}

/** A result of ours without a line in the tables above: its sentence, its numbers, its findings and cautions. */
function itemsOfOther(value: Readonly<Record<string, unknown>>): Items | undefined {
  const { summary, reason, findings: found, cautions: warned } = value;
  const numbers = quantitiesTable(value);
  // With a kind of its own a result has chosen what it says in numbers; without one its parts say it.
  const parts = 'kind' in value ? [] : listsIn(value);
  const series = numbers === undefined ? seriesTable(value, mostRows) : undefined;
  const items: Items = [
    ...[summary, reason].flatMap((text) =>
      typeof text === 'string' && text.includes(' ') ? [sentence(text)] : [],
    ),
    ...(numbers === undefined ? [] : [table(numbers)]),
    ...(series === undefined ? [] : [table(series)]),
    ...parts,
    ...(Array.isArray(found) && found.every(isFinding) ? findings(found) : []),
    ...(Array.isArray(warned) ? cautions(warned.map(String)) : []),
  ];
  return items.length === 0 ? undefined : items;
}

/** The lists of like things that a result holds, such as the segments of a run, each as a table. */
function listsIn(value: Readonly<Record<string, unknown>>): Items {
  return Object.entries(value).flatMap(([name, field]) => {
    if (!Array.isArray(field) || field.length === 0 || !field.every(isRecord) || field.every(isFinding))
      return [];
    const list = listTable(field, nameInWords(name).words);
    return list === undefined ? [] : [table(list)];
  });
}

function itemsOfCoolers(models: readonly CoolerModel[]): Items {
  return [table(tableOfCoolers(models)), figure(figureOfComparison(models))];
}

function itemsOfCooler(model: CoolerModel): Items {
  return [
    table(tableOfCooler(model)),
    ...(hasKnownStages(model) ? [figure(figureOfStepResponse(model))] : []),
    ...findings(model.findings),
  ];
}

/** Side by side, then one by one; a caution that holds for all stands once, at the end. */
function itemsOfChoices(choices: readonly CapChoice[]): Items {
  const [first] = choices;
  const common = (first?.cautions ?? []).filter((caution) =>
    choices.every((choice) => choice.cautions.includes(caution)),
  );
  return [
    table(tableOfChoices(choices)),
    figure(figureOfComparison(choices)),
    ...highestCapFirst(choices).flatMap((choice) => [
      { kind: 'heading', level: 3, text: choice.cooler } as const,
      ...sentenceAndPicture(choice),
      ...cautions(choice.cautions.filter((caution) => !common.includes(caution))),
    ]),
    ...(common.length === 0
      ? []
      : [{ kind: 'heading', level: 3, text: 'Cautions' } as const, ...cautions(common)]),
  ];
}

function sentenceAndPicture(choice: CapChoice): Items {
  return [
    sentence(choice.summary),
    ...(choice.temperatureAgainstCap.length >= 2 ? [figure(figureOfCapChoice(choice))] : []),
  ];
}

/** What to do stands first in a summary; names in it may hold marks of Markdown, which are not meant as such. */
function sentence(summary: string): ReportItem {
  const plain = summary.replaceAll(/[*`]/g, '');
  const end = plain.indexOf('. ');
  const text = end === -1 ? `**${plain}**` : `**${plain.slice(0, end + 1)}**${plain.slice(end + 1)}`;
  return { kind: 'markdown', text };
}

function cautions(list: readonly string[]): Items {
  return findings(list.map((message) => ({ code: 'caution', severity: 'warning', message })));
}

/** The first rows of a frame, or of one column of it; its row labels only where they say more than counting would. */
function tableOfFrame(frame: FrameRows): Table {
  const values = Array.isArray(frame.values) ? (frame.values as unknown[]) : [];
  const labels = Array.isArray(frame.index) ? (frame.index as unknown[]) : [];
  const isLabelled = labels.length === values.length && labels.some((label, row) => label !== row);
  const rows = values
    .slice(0, mostRows)
    .map((row, at) =>
      [...(isLabelled ? [labels[at]] : []), ...(Array.isArray(row) ? row : [row])].map(cellOf),
    );
  const rowCount = frame.shape[0] ?? values.length;
  return {
    kind: 'table',
    columns: [...(isLabelled ? [''] : []), ...frame.columns.map(String)].map((name) => ({ name })),
    rows,
    ...(rowCount > rows.length ? { notes: [`The first ${rows.length} of ${rowCount} rows.`] } : {}),
  };
}

function cellOf(value: unknown): TableCell {
  if (typeof value === 'number') return Number.isFinite(value) ? value : null;
  if (typeof value === 'string' || typeof value === 'boolean') return value;
  return value === null || value === undefined ? null : String(value);
}

function figure(of: Figure): ReportItem {
  return { kind: 'figure', figure: of };
}

function table(of: Table): ReportItem {
  return { kind: 'table', table: of };
}

function findings(list: readonly Finding[]): Items {
  return list.length === 0 ? [] : [{ kind: 'findings', findings: list }];
}

function isOwnKind(kind: string): kind is keyof Kinds {
  return Object.hasOwn(itemsOfKind, kind);
}

function isRun(value: unknown): value is Run {
  return isRecord(value) && ArrayBuffer.isView(value['timeS']) && ArrayBuffer.isView(value['temperatureC']);
}

function isFigure(value: unknown): value is Figure {
  return (
    isRecord(value) &&
    Array.isArray(value['data']) &&
    isRecord(value['layout']) &&
    isRecord(value['layout']['meta'])
  );
}

function isFrame(value: unknown): value is Frame {
  return (
    isRecord(value) &&
    typeof value['column'] === 'function' &&
    Array.isArray(value['columns']) &&
    Array.isArray(value['shape'])
  );
}

/** A result of ours without a kind: it holds uncertain numbers, or findings. */
function isResult(value: unknown): value is Record<string, unknown> {
  if (!isRecord(value)) return false;
  const { findings: found } = value;
  return (
    (Array.isArray(found) && found.every(isFinding)) ||
    Object.values(value).some((field) => isEstimate(field) || isMean(field))
  );
}

/** One column of a frame, a series. */
function isColumn(value: unknown): value is FrameRows {
  return (
    isRecord(value) &&
    value['$isSeries'] === true &&
    Array.isArray(value['columns']) &&
    Array.isArray(value['shape'])
  );
}

function isFinding(value: unknown): value is Finding {
  return (
    isRecord(value) &&
    typeof value['code'] === 'string' &&
    typeof value['severity'] === 'string' &&
    typeof value['message'] === 'string'
  );
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
