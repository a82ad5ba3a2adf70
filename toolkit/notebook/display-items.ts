import type { CapChoice } from '../cap/cap-choice.js';
import type { Figure } from '../figures/figure.js';
import { figureOfCapChoice } from '../figures/figure-of-cap-choice.js';
import { figureOfComparison } from '../figures/figure-of-comparison.js';
import { figureOfPowerCurve } from '../figures/figure-of-power-curve.js';
import { figureOfRun } from '../figures/figure-of-run.js';
import { figureOfStepResponse } from '../figures/figure-of-step-response.js';
import type { PowerCurve } from '../power/power-curve.js';
import type { Frame } from '../report/frame.js';
import { highestCapFirst } from '../report/highest-cap-first.js';
import type { ReportItem } from '../report/report-html.js';
import type { Table, TableCell } from '../report/table.js';
import { tableOfChoices, tableOfNeighbours } from '../report/table-of-choices.js';
import { tableOfCooler, tableOfCoolers } from '../report/table-of-cooler.js';
import { tableOfCurve } from '../report/table-of-curve.js';
import { tableOfRuns } from '../report/table-of-runs.js';
import type { Finding } from '../runs/finding.js';
import type { Run } from '../runs/run.js';
import type { CoolerModel } from '../thermal/cooler-model.js';

const mostFrameRows = 20;

/**
 * What a value shows of itself, from top to bottom: picture, table, findings, cautions. Several results of one kind
 * are compared. `undefined` for values that are none of ours.
 */
export function displayItems(value: unknown): readonly ReportItem[] | undefined {
  if (Array.isArray(value)) return itemsOfList(value);
  if (!isRecord(value)) return undefined;
  if (isRun(value)) return [figure(figureOfRun(value)), ...findings(value.findings)];
  if (isFigure(value)) return [figure(value)];
  if (isFrame(value)) return [table(tableOfFrame(value))];
  if (isCooler(value)) return itemsOfCooler(value);
  if (isCurve(value))
    return [figure(figureOfPowerCurve(value)), table(tableOfCurve(value)), ...findings(value.findings)];
  if (isChoice(value)) return itemsOfChoice(value);
  if (isTable(value)) return [table(value)];
  return undefined;
}

/** Whether a value is a cap with its scenario and cautions, as `chooseCap` returns it. */
export function isChoice(value: unknown): value is CapChoice {
  return isKind(value, 'cap-choice');
}

function itemsOfList(list: readonly unknown[]): readonly ReportItem[] | undefined {
  if (list.length === 0) return undefined;
  if (list.every(isRun)) return [table(tableOfRuns(list))];
  if (list.every(isCooler)) return [table(tableOfCoolers(list)), figure(figureOfComparison(list))];
  if (list.every(isChoice)) return itemsOfChoices(list);
  if (list.every(isFinding)) return findings(list);
  return undefined;
}

function itemsOfCooler(model: CoolerModel): readonly ReportItem[] {
  const hasStages =
    model.stages.length > 0 && model.stages.every((stage) => stage.timeConstantS.value !== undefined);
  return [
    table(tableOfCooler(model)),
    ...(hasStages ? [figure(figureOfStepResponse(model))] : []),
    ...findings(model.findings),
  ];
}

function itemsOfChoice(choice: CapChoice): readonly ReportItem[] {
  return [...sentenceAndPicture(choice), table(tableOfNeighbours(choice)), ...cautions(choice.cautions)];
}

/** Side by side, then one by one; a caution that holds for all stands once, at the end. */
function itemsOfChoices(choices: readonly CapChoice[]): readonly ReportItem[] {
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

function sentenceAndPicture(choice: CapChoice): readonly ReportItem[] {
  return [
    { kind: 'markdown', text: withStrongStart(choice.summary) },
    ...(choice.temperatureAgainstCap.length >= 2 ? [figure(figureOfCapChoice(choice))] : []),
  ];
}

/** What to do stands first in a summary; names in it may hold marks of Markdown, which are not meant as such. */
function withStrongStart(summary: string): string {
  const plain = summary.replaceAll(/[*`]/g, '');
  const end = plain.indexOf('. ');
  return end === -1 ? `**${plain}**` : `**${plain.slice(0, end + 1)}**${plain.slice(end + 1)}`;
}

function cautions(list: readonly string[]): readonly ReportItem[] {
  return findings(list.map((message) => ({ code: 'caution', severity: 'warning', message })));
}

function tableOfFrame(frame: Frame): Table {
  const values = Array.isArray(frame.values) ? (frame.values as unknown[]) : [];
  const rows = values.slice(0, mostFrameRows).map((row) => (Array.isArray(row) ? row : [row]).map(cellOf));
  const rowCount = frame.shape[0] ?? values.length;
  return {
    kind: 'table',
    columns: frame.columns.map((name) => ({ name })),
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

function findings(list: readonly Finding[]): readonly ReportItem[] {
  return list.length === 0 ? [] : [{ kind: 'findings', findings: list }];
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

function isFinding(value: unknown): value is Finding {
  return (
    isRecord(value) &&
    typeof value['code'] === 'string' &&
    typeof value['severity'] === 'string' &&
    typeof value['message'] === 'string'
  );
}

function isCooler(value: unknown): value is CoolerModel {
  return isKind(value, 'cooler-model');
}

function isCurve(value: unknown): value is PowerCurve {
  return isKind(value, 'power-curve');
}

function isTable(value: unknown): value is Table {
  return isKind(value, 'table');
}

function isKind(value: unknown, kind: string): boolean {
  return isRecord(value) && value['kind'] === kind;
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
