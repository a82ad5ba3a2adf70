import { describe, expect, it } from 'vitest';
import { figureOfPowerCurve } from '../../../toolkit/figures/figure-of-power-curve.js';
import { figureOfSlowdown } from '../../../toolkit/figures/figure-of-slowdown.js';
import { seededRandom } from '../../../toolkit/numerics/random.js';
import { fitPowerCurve } from '../../../toolkit/power/fit/fit-power-curve.js';
import { undervolt } from '../../../toolkit/power/predict/undervolt.js';
import { loadModel } from '../../../toolkit/report/models/load-model.js';
import { saveModel } from '../../../toolkit/report/models/save-model.js';
import { cellText } from '../../../toolkit/report/tables/table.js';
import { tableOfCurve } from '../../../toolkit/report/tables/table-of-curve.js';
import { tableOfSlowdown } from '../../../toolkit/report/tables/table-of-slowdown.js';
import { checkSlowdown } from '../../../toolkit/runs/slowdown/slowdown-check.js';
import { drawProcessor, type SyntheticRunOptions, syntheticRun } from '../power/synthetic-processor.js';

const processor = drawProcessor(seededRandom(5));
const runAt = (powerCapW: number, label: string, more: Partial<SyntheticRunOptions> = {}) =>
  syntheticRun(processor, {
    powerCapW,
    thermalResistanceKPerW: 0.45,
    ambientC: 22,
    durationS: 600,
    random: seededRandom(powerCapW + label.length),
    voltageReadingOffV: 0.002,
    work: { megacycleCount: 600, waitS: 0 },
    ...more,
    label,
  });
const stock = [runAt(118, 'full cap'), runAt(80, 'low cap')];
const lowered = runAt(118, 'lowered by 80 mV', { voltageOffsetMv: -80, lossFraction: 0.08 });
const curve = fitPowerCurve([...stock, lowered]);
const check = checkSlowdown([...stock, lowered]);

describe('figureOfSlowdown', () => {
  const figure = figureOfSlowdown(check);

  it('says in the title what the worst run reports and what it works like', () => {
    expect(figure.layout.meta.title).toMatch(
      /^Run 'lowered by 80 mV' reports [34]\d{3} MHz, works like 3\d{3} MHz$/,
    );
    expect(figure.layout.meta.description.toLowerCase()).toBe(check.summary.toLowerCase());
  });

  it('draws reported and effective frequency apart, the effective one with its interval', () => {
    const [run] = check.runs;
    const reported = figure.data.find(({ name }) => name === 'reported')!;
    const effective = figure.data.find(({ name }) => name === 'works like')!;
    expect((reported.x as number[])[0]).toBeCloseTo(run.reportedMHz, 0);
    expect((effective.x as number[])[0]).toBeCloseTo(run.effectiveMHz, 0);
    expect(effective.error_x!.array[0]).toBeGreaterThan(3);
    // No colour alone: a loss has a mark of its own.
    expect(effective.marker?.symbol).toEqual(['diamond']);
  });

  it('names runs that work as they report', () => {
    const fine = figureOfSlowdown(checkSlowdown(stock));
    expect(fine.layout.meta.title).toBe('The run works as it reports');
    expect(JSON.stringify(fine.layout.annotations)).toContain('no difference beyond noise');
  });

  it('refuses anything else', () => {
    expect(() => figureOfSlowdown(curve as never)).toThrow(
      'figureOfSlowdown: `check` must be a slowdown-check (received "power-curve"); make one with checkSlowdown',
    );
  });
});

describe('tableOfSlowdown', () => {
  it('has one row per run with the share lost in per cent and the verdict', () => {
    const table = tableOfSlowdown(check);
    expect(table.title).toBe('Work per cycle against full cap, low cap');
    expect(table.rows).toHaveLength(1);
    const cells = table.rows[0].map(cellText);
    expect(cells[0]).toBe('lowered by 80 mV');
    expect(cells[5]).toMatch(/^[78]\.\d+ ± 0\.\d+$/);
    expect(cells[6]).toBe('lost work');
  });

  it('refuses anything else', () => {
    expect(() => tableOfSlowdown({} as never)).toThrow(/tableOfSlowdown: `check` must be a slowdown-check/);
  });
});

describe('a power curve with work and voltage', () => {
  it('has a panel of work below that of frequency, and diamonds for points at another voltage', () => {
    const figure = figureOfPowerCurve(curve);
    expect(figure.layout.yaxis?.title?.text).toBe('Frequency, MHz');
    expect(figure.layout['yaxis2' as 'yaxis']?.title?.text).toBe('Work, 1/s');
    const others = figure.data.filter(({ name }) => name === 'steady points at another voltage');
    expect(others.map(({ marker }) => marker?.symbol)).toEqual(['diamond', 'diamond']);
    expect(figure.layout.title.text).toContain('Diamonds: reported, at another voltage.');
  });

  it('says at which voltage it stands, and that its frequencies are effective', () => {
    const figure = figureOfPowerCurve(undervolt(curve, { offsetMv: -80 }));
    expect(figure.layout.title.text.replaceAll(/<[^>]*>/g, ' ').replaceAll(/\s+/g, ' ')).toMatch(
      /Core voltage 80 mV below the maker's\. Effective frequencies: [78]\.?\d? % below the reported\./,
    );
    const half = figureOfPowerCurve(undervolt(curve, { offsetMv: -40 }));
    expect(half.layout.title.text.replaceAll(/<[^>]*>/g, ' ').replaceAll(/\s+/g, ' ')).toContain(
      'No run was logged there: extrapolated.',
    );
  });

  it('tells voltage, offset and losses in its table', () => {
    const rows = tableOfCurve(curve).rows.map((row) => row.map(cellText));
    const cellOf = (name: string) => rows.find(([first]) => first === name)?.[1];
    expect(cellOf('Work against frequency')).toBe('proportional');
    expect(cellOf('Core voltage at the reference frequency')).toMatch(/^[01]\.\d+ ± 0\.\d+$/);
    expect(cellOf('Voltage offset')).toBe('0');
    expect(cellOf('Work per cycle lost at -80 mV')).toMatch(/^[78]\.\d+ ± 0\.\d+$/);
  });

  it('is saved and loaded to the last digit', () => {
    for (const saved of [curve, undervolt(curve, { offsetMv: -80 })]) {
      expect(loadModel(saveModel(saved), { kind: 'power-curve' })).toEqual(saved);
    }
    const broken = saveModel(curve).replace('"offsetMv": 0', '"offsetMv": "none"');
    expect(() => loadModel(broken)).toThrow(/`text\.model\.voltage\.offsetMv` must be a finite number/);
  });
});
