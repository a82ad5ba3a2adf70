import { estimate, finding, positive } from '../../report/models/common-shapes.js';
import { figureShape } from '../../report/models/figure-shape.js';
import { modelShapes } from '../../report/models/model-shapes.js';
import { arrayOf, byField, number, object, oneOf, type Shape, text } from '../../report/models/shape.js';
import type { ReportItem } from '../../report/page/report-html.js';
import type { Table, TableColumn } from '../../report/tables/table.js';
import type { CapPanelData } from '../panel/cap-panel-controls.js';
import type { LadderPanelData } from '../panel/ladder-panel.js';

type Item<Kind extends ReportItem['kind']> = Extract<ReportItem, { readonly kind: Kind }>;

const cell: Shape = (value, path) =>
  value === null || ['string', 'number', 'boolean'].includes(typeof value)
    ? undefined
    : estimate(value, path);

const table = object<Table>(
  {
    kind: oneOf('table'),
    columns: arrayOf(object<TableColumn>({ name: text }, { unit: text })),
    rows: arrayOf(arrayOf(cell)),
  },
  { title: text, notes: arrayOf(text) },
);

const level: Shape = (value, path) =>
  [2, 3, 4].includes(value as number) ? undefined : { path, expected: '2, 3 or 4', received: value };

/** A part of a report as an output of a notebook holds it. Parts that run by themselves are never taken from there. */
export const reportItemShape: Shape = byField('kind', {
  heading: object<Item<'heading'>>({ kind: text, text }, { level }),
  markdown: object<Item<'markdown'>>({ kind: text, text }, {}),
  table: object<Item<'table'>>({ kind: text, table }, {}),
  figure: object<Item<'figure'>>({ kind: text, figure: figureShape }, {}),
  findings: object<Item<'findings'>>({ kind: text, findings: arrayOf(finding) }, {}),
  output: object<Item<'output'>>({ kind: text, text }, {}),
  code: object<Item<'code'>>({ kind: text, text }, {}),
});

// What a scenario holds is checked where the panel's model is made from it.
const scenario: Shape = object<object>({}, {});

/** What a panel is made from. */
export const panelShape: Shape = byField('panel', {
  cap: object<CapPanelData>(
    { panel: text, cooler: modelShapes['cooler-model'], scenario },
    { curve: modelShapes['power-curve'] },
  ),
  ladder: object<LadderPanelData>(
    {
      panel: text,
      ladder: arrayOf(
        object<LadderPanelData['ladder'][number]>(
          { heatCapacityJPerK: positive, resistanceKPerW: positive },
          {},
        ),
      ),
      powerW: positive,
      ambientC: number,
      durationS: positive,
    },
    {},
  ),
});
