import { describe, expect, it } from 'vitest';
import type { Figure } from '../../../toolkit/figures/figure.js';
import { figureOfCapChoice } from '../../../toolkit/figures/figure-of-cap-choice.js';
import { figureOfComparison } from '../../../toolkit/figures/figure-of-comparison.js';
import { figureOfFit } from '../../../toolkit/figures/figure-of-fit.js';
import { figureOfPowerCurve } from '../../../toolkit/figures/figure-of-power-curve.js';
import { figureOfRun } from '../../../toolkit/figures/figure-of-run.js';
import { figureOfStepResponse } from '../../../toolkit/figures/figure-of-step-response.js';
import { figureOfStructureFunction } from '../../../toolkit/figures/figure-of-structure-function.js';
import { readRun } from '../../../toolkit/logs/read/read-run-node.js';
import { scaleOf, ticksOf } from '../../../toolkit/report/still/still-picture-axes.js';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import { loadSegments } from '../../../toolkit/runs/segments/load-segments.js';
import { steadyWindow } from '../../../toolkit/runs/segments/steady-window.js';
import { coolerFromSteadyPoints } from '../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../toolkit/thermal/cooler-model.js';
import { everyFigure } from './every-figure.js';
import { capChoice, coolerModel, drawerRun, powerCurve, theatreComparison } from './puppet-theatre.js';

function titleOf(figure: Figure): string {
  return figure.layout.meta.title;
}

function labelsOf(figure: Figure): readonly string[] {
  return (figure.layout.annotations ?? []).map((annotation) => annotation.text);
}

describe.each(Object.entries(everyFigure))('%s', (_, draw) => {
  const figure = draw();

  it('is plain data that survives JSON', () => {
    expect(JSON.parse(JSON.stringify(figure))).toEqual(figure);
  });

  it('gives every axis a title with its unit, or names its rows', () => {
    for (const [name, axis] of Object.entries(figure.layout)) {
      if (!/^[xy]axis\d?$/.test(name)) continue;
      const title = (axis as { title?: { text: string } }).title?.text;
      if (title === undefined) expect((axis as { ticktext?: unknown }).ticktext).toBeDefined();
      else expect(title).toMatch(/, (°C|K|W|MHz|K\/W|J\/K|J·W\/K²|1\/s|1\/h|min|s)$/);
    }
  });

  it('says a finding with a number and its unit in the title', () => {
    expect(titleOf(figure)).toMatch(/\d (°C|K|W|MHz|K\/W)/);
    expect(figure.layout.meta.description.length).toBeGreaterThan(20);
  });

  it('can be read off: two marks at least on every scale, in the still drawing too', () => {
    const { layout } = figure;
    const plotHeightPx = layout.height - layout.margin.t - layout.margin.b;
    for (const axis of [layout.yaxis, layout.yaxis2, layout.yaxis3, layout.yaxis4]) {
      if (axis === undefined || axis.tickvals !== undefined) continue;
      expect(axis.nticks).toBeGreaterThanOrEqual(5);
      const [bottom, top] = axis.domain!;
      const scale = scaleOf(axis, 0, (top - bottom) * plotHeightPx);
      expect(ticksOf(axis, scale, 20).length).toBeGreaterThanOrEqual(2);
    }
  });

  it('draws nothing outside its scales by mistake: every number is finite', () => {
    for (const trace of figure.data) {
      for (const value of [...trace.x, ...trace.y])
        if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true);
      expect(trace.x).toHaveLength(trace.y.length);
    }
  });

  it('never offers to send the data away', () => {
    expect(figure.config).toMatchObject({ showSendToCloud: false, displaylogo: false });
  });

  it('keeps labels apart: no two at a line end are closer than a line of text', () => {
    const byAxis = new Map<string, number[]>();
    for (const label of figure.layout.annotations ?? []) {
      if (label.xref !== 'x domain') continue;
      byAxis.set(label.yref, [...(byAxis.get(label.yref) ?? []), label.y]);
    }
    const plotHeightPx = figure.layout.height - figure.layout.margin.t - figure.layout.margin.b;
    for (const [axisName, positions] of byAxis) {
      const axis = figure.layout[axisName.replace('y', 'yaxis') as 'yaxis']!;
      const [low, high] = axis.range!;
      const heightPx = plotHeightPx * (axis.domain![1] - axis.domain![0]);
      const pixels = positions.map((y) => ((y - low) / (high - low)) * heightPx).sort((a, b) => a - b);
      for (let i = 1; i < pixels.length; i++) expect(pixels[i] - pixels[i - 1]).toBeGreaterThan(16);
    }
  });
});

describe('figureOfRun', () => {
  it('says the steady temperature, draws the cap and tells what held the load', () => {
    const figure = figureOfRun(drawerRun());
    expect(titleOf(figure)).toMatch(/^Steady at 79\.\d+ ± 0\.\d+ °C: flat 58 mm, 92 W, drawer$/);
    expect(labelsOf(figure)).toContain('cap 92 W');
    expect(labelsOf(figure)).toContain('held by the cap');
  });

  it('says where a run was still rising', () => {
    const run = drawerRun();
    const cut = {
      ...run,
      timeS: run.timeS.slice(0, 320),
      temperatureC: run.temperatureC.slice(0, 320),
      powerW: run.powerW.slice(0, 320),
      frequencyMHz: run.frequencyMHz!.slice(0, 320),
    };
    expect(titleOf(figureOfRun(cut))).toMatch(/^Not steady: temperature rises by \d.* K\/min: /);
  });

  it('says of a run held back by temperature what it was held to, not how the air drifted', async () => {
    const held = figureOfRun(await readRun('datasets-demo/flat-41-at-118w.csv'));
    expect(titleOf(held)).toMatch(
      /^Held back at 95 °C, at 10\d W instead of the cap of 118 W: flat-41-at-118w$/,
    );
    const run = { ...drawerRun(), conditions: {} };
    const steady = { ...steadyWindow(drawerRun()), limitedBy: 'temperature' as const };
    const { powerCapW: _, ...segments } = loadSegments(drawerRun());
    expect(titleOf(figureOfRun(run, { steady, segments }))).toMatch(/^Held back at \d\d °C, at 92 W: /);
  });

  it('says of loads in turn how hot they get: the end of one burst is no steady state', () => {
    const timeS = Array.from({ length: 1800 }, (_, i) => i);
    const isOn = timeS.map((t) => t % 300 < 120);
    const run = makeRun(
      {
        timeS,
        powerW: isOn.map((on) => (on ? 118 : 16)),
        temperatureC: timeS.map((t) => (t % 300 < 120 ? 50 + (t % 300) / 4 : 80 - (t % 300) / 10)),
      },
      { label: 'evening', conditions: { ambientC: 22 } },
    );
    const figure = figureOfRun(run);
    expect(titleOf(figure)).toBe('6 loads in turn reach 79.8 °C at most: evening');
    expect(figure.layout.title.text).toContain('Under load for 40 % of the time.');
    expect(figure.layout.title.text).not.toContain('averaged end');
    // Whoever asks for a window gets it.
    expect(titleOf(figureOfRun(run, { steady: steadyWindow(run) }))).toMatch(/^Not steady|^Steady/);
  });

  it('draws a run without load, frequency or cap', () => {
    const run = drawerRun();
    const figure = figureOfRun({
      label: 'idle',
      conditions: {},
      powerSample: 'interval-mean',
      findings: [],
      timeS: run.timeS.slice(0, 100),
      temperatureC: run.temperatureC.slice(0, 100),
      powerW: run.powerW.slice(0, 100).fill(3),
    });
    expect(figure.data.length).toBeGreaterThanOrEqual(2);
    expect(figure.layout.yaxis3).toBeUndefined();
  });

  it('stays light for a long run', () => {
    const figure = figureOfRun(drawerRun({ sampleCount: 120_000 }));
    for (const trace of figure.data) expect(trace.x.length).toBeLessThanOrEqual(4000);
  });

  it('shows a hostile label as text', () => {
    const figure = figureOfRun(drawerRun({ label: '<img src=x> %{meta.title} $e^x$' }));
    expect(figure.layout.title.text).toContain('&lt;img src=x&gt; %&#123;meta.title} &#36;e^x&#36;');
    for (const trace of figure.data) expect(JSON.stringify(trace)).not.toContain('img');
  });
});

describe('figureOfCapChoice', () => {
  it('marks the limit, the default cap and the chosen cap in words', () => {
    const figure = figureOfCapChoice(capChoice(), { place: 'in the drawer' });
    expect(titleOf(figure)).toBe('Flat 58 mm holds 85 °C up to 89 W in the drawer');
    expect(labelsOf(figure)).toEqual(
      expect.arrayContaining(['limit 85 °C', 'default 118 W', 'cap 89 W: 80 ± 6 °C', '3522 ± 18 MHz']),
    );
    expect(figure.layout.title.text).toContain('room 20 to 26 °C');
  });

  it('stars what is extrapolated, and says what the star means', () => {
    const choice = capChoice();
    const far = { ...choice.frequencyMHz, extrapolated: true } as typeof choice.frequencyMHz;
    const figure = figureOfCapChoice({ ...choice, frequencyMHz: far });
    expect(labelsOf(figure)).toContain('3522 ± 18 MHz*');
    expect(figure.layout.title.text).toContain('*Outside the tested range.');
    expect(figureOfCapChoice(choice).layout.title.text).not.toContain('range.');
  });

  it('says where the default cap is held', () => {
    const figure = figureOfCapChoice(capChoice({ cooler: 'Loop 140 mm', resistanceKPerW: 0.31 }));
    expect(titleOf(figure)).toBe('Loop 140 mm holds 85 °C at the default cap of 118 W');
  });

  it('says that more may be possible where the logs end', () => {
    const logged = { ...capChoice(), bindingConstraint: 'tested-range' } as const;
    expect(titleOf(figureOfCapChoice(logged))).toBe('Flat 58 mm holds 85 °C at 89 W, and perhaps more');
    const { defaultCapW: _, ...scenario } = logged.scenario;
    expect(titleOf(figureOfComparison([{ ...logged, scenario }]))).toBe(
      'Flat 58 mm holds 85 °C at least up to 89 W',
    );
  });

  it('draws one panel where no frequency is known', () => {
    const choice = capChoice();
    const figure = figureOfCapChoice({
      ...choice,
      frequencyMHz: { kind: 'unavailable', reason: 'not-identifiable' },
      temperatureAgainstCap: choice.temperatureAgainstCap.map(({ frequencyMHz: _, ...row }) => row),
    });
    expect(figure.layout.yaxis2).toBeUndefined();
    expect(figure.layout.meta.description).toMatch(/frequency not known\.$/);
  });

  it('refuses a choice without its rows', () => {
    expect(() => figureOfCapChoice({ ...capChoice(), temperatureAgainstCap: [] })).toThrow(
      'figureOfCapChoice: `choice.temperatureAgainstCap` must be at least two rows, one per cap (received 0)',
    );
  });
});

describe('figureOfComparison', () => {
  it('names the coolers that hold the default cap, the best row on top', () => {
    const figure = figureOfComparison([
      capChoice({ cooler: 'Flat 41 mm', resistanceKPerW: 0.78 }),
      capChoice({ cooler: 'Tower 88 mm', resistanceKPerW: 0.36 }),
      capChoice(),
    ]);
    expect(titleOf(figure)).toBe('Tower 88 mm holds 85 °C at the default cap of 118 W');
    expect(figure.layout.yaxis?.ticktext).toEqual(['Flat 41 mm', 'Flat 58 mm', 'Tower 88 mm']);
  });

  it('says where no cooler or every cooler holds the default cap', () => {
    expect(titleOf(figureOfComparison([capChoice()]))).toBe(
      'Flat 58 mm holds 85 °C up to 89 W, less than the default cap of 118 W',
    );
    const both = [capChoice({ cooler: 'Flat 41 mm', resistanceKPerW: 0.78 }), capChoice()];
    expect(titleOf(figureOfComparison(both))).toBe(
      'No cooler here holds 85 °C at the default cap of 118 W; Flat 58 mm comes closest',
    );
    expect(titleOf(figureOfComparison([capChoice({ resistanceKPerW: 0.3 })]))).toBe(
      'Every cooler here holds 85 °C at the default cap of 118 W',
    );
  });

  it('marks extrapolated numbers and says what the mark means', () => {
    const choice = capChoice();
    const frequencyMHz = { ...choice.frequencyMHz, extrapolated: true } as typeof choice.frequencyMHz;
    const figure = figureOfComparison([{ ...choice, frequencyMHz }]);
    expect(labelsOf(figure)).toContain('89 W, 3522 ± 18 MHz*');
    expect(figure.layout.title.text).toContain('*Extrapolated.');
  });

  it('draws a bar only where the band meets the limit', () => {
    const figure = figureOfComparison([capChoice(), capChoice({ cooler: 'Tower', resistanceKPerW: 0.36 })]);
    // Band edges of the written-down choice: 32.5 + 0.532 P ± (3.1 + 0.03 P) = 85 at P = 87.9 and 110.8.
    expect(figure.data[0]?.error_x?.arrayminus[0]).toBeCloseTo(89 - 87.9, 1);
    expect(figure.data[0]?.error_x?.array[0]).toBeCloseTo(110.8 - 89, 1);
    expect(figure.data[0]?.error_x?.array[1]).toBeNull();
  });

  it('refuses an empty list and mixed kinds', () => {
    expect(() => figureOfComparison([])).toThrow(
      'figureOfComparison: `results` must be at least one cap choice or cooler model (received an array of 0)',
    );
    const mixed = [capChoice(), coolerModel()] as unknown as readonly CoolerModel[];
    expect(() => figureOfComparison(mixed)).toThrow(
      'figureOfComparison: `results` must be of one kind, all from chooseCap or all from fitCooler (received an array of 2); draw two pictures',
    );
  });
});

describe('figureOfStepResponse', () => {
  it('rises by 1 − 1/e of a lone stage at its time constant (definition of a time constant)', () => {
    const model = coolerModel();
    const lone: CoolerModel = {
      ...model,
      stages: [model.stages[1]],
      poles: { timeConstantsS: [184], resistancesKPerW: [0.361], airTimeConstantS: 184 },
    };
    const marks = figureOfStepResponse(lone).data.find((trace) => trace.name === 'time constants')!;
    expect(marks.x[0]).toBe(184);
    expect(marks.y[0]).toBeCloseTo(0.361 * (1 - Math.exp(-1)), 6);
  });

  it('ends at the total resistance', () => {
    const line = figureOfStepResponse(coolerModel()).data.find((trace) => trace.name === 'step response')!;
    // After eight of the slowest time constants 0.03 % are left.
    expect(line.y.at(-1)).toBeCloseTo(0.532, 3);
  });

  it('draws its band from low to high around the line, and none where the model does not know it', () => {
    const model = coolerModel();
    const band = figureOfStepResponse(model).data.find((trace) => trace.name === '95 % band')!;
    const half = band.y.length / 2;
    for (let i = 0; i < half; i++)
      expect(band.y[i] as number).toBeGreaterThan(band.y[band.y.length - 1 - i] as number);
    const bare = { ...model, covariance: { parameters: [], matrix: [] } };
    expect(figureOfStepResponse(bare).data.some((trace) => trace.name === '95 % band')).toBe(false);
  });

  it('refuses a model without stages', () => {
    expect(() => figureOfStepResponse({ ...coolerModel(), stages: [] })).toThrow(
      'figureOfStepResponse: `model.stages` must be identified stages, each with a time constant and a resistance (received "0 of 0 known"); fit a run that logs the warm-up',
    );
  });
});

describe('figureOfStructureFunction', () => {
  const figure = figureOfStructureFunction(coolerModel());

  it('climbs from the first heat capacity to the sum, and on at the air', () => {
    const line = figure.data.find((trace) => trace.name === 'cumulative structure function')!;
    expect(line.y[0]).toBeCloseTo(33.1, 6);
    expect(line.y.at(-2)).toBeCloseTo(33.1 + 471, 6);
    expect(line.x.at(-1)).toBeCloseTo(0.532, 6);
    expect(line.y.at(-1) as number).toBeGreaterThan(504.1);
    expect(labelsOf(figure)).toContain('air');
  });

  it('draws the slope C/R of each rung', () => {
    const line = figure.data.find((trace) => trace.name === 'differential structure function')!;
    expect(line.y[0]).toBeCloseTo(33.1 / 0.178, 3);
    expect(line.y.at(-1)).toBeCloseTo(471 / 0.354, 2);
  });

  it('refuses averages', () => {
    const averages = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 60, ambientC: 22 }]);
    expect(() => figureOfStructureFunction(averages)).toThrow(
      /figureOfStructureFunction: `model` must be a model with identified stages/,
    );
  });
});

describe('figureOfComparison of a comparison', () => {
  it('says the ranking, the places and the allowance', () => {
    const figure = figureOfComparison(theatreComparison());
    expect(titleOf(figure)).toMatch(/^At 80 W 'Loop 140 mm' is better than all others; then 'Tower 88 mm'/);
    expect(labelsOf(figure).filter((label) => label.endsWith('places 3 to 4'))).toHaveLength(2);
    expect(figure.layout.title.text.replace(/<[^>]*>/g, ' ')).toMatch(/2\.5 % \(one\s+standard/);
  });
});

describe('figureOfFit', () => {
  it('shows the residual as measured minus modelled', () => {
    const figure = figureOfFit(drawerRun(), coolerModel());
    const [measured, modelled, residual] = figure.data;
    for (const at of [100, 600, 1200])
      expect((measured.y[at] as number) - (modelled.y[at] as number)).toBeCloseTo(
        residual.y[at] as number,
        4,
      );
  });
});

describe('figureOfPowerCurve', () => {
  it('dots the line beyond the tested powers', () => {
    const figure = figureOfPowerCurve(powerCurve());
    const beyond = figure.data.filter((trace) => trace.name.includes('beyond the tested powers'));
    expect(beyond.length).toBeGreaterThanOrEqual(2);
    for (const trace of beyond) {
      expect(trace.line?.dash).toBe('dot');
      const powers = trace.x as number[];
      expect(Math.max(...powers) <= 64.8 || Math.min(...powers) >= 117).toBe(true);
    }
  });

  it('draws frequency against temperature where one power alone was logged', () => {
    const curve = powerCurve();
    const figure = figureOfPowerCurve({
      ...curve,
      frequencyPerPowerMHzPerW: { kind: 'unavailable', reason: 'not-identifiable' },
    });
    expect(figure.layout.xaxis?.title?.text).toBe('Temperature, °C');
    expect(titleOf(figure)).toMatch(
      /^What one watt changes is not identifiable; one kelvin more costs 3\.1 ± 0\.9 MHz$/,
    );
  });

  it('draws the one-power curve with its band over temperature', () => {
    const figure = figureOfPowerCurve({
      ...powerCurve(),
      frequencyPerPowerMHzPerW: { kind: 'unavailable', reason: 'not-identifiable' },
      testedRange: { powerW: [92, 92], frequencyMHz: [3500, 3600], temperatureC: [56, 80] },
    });
    expect(figure.data.map((trace) => trace.name)).toEqual(['95 % band', 'at 92 W', 'steady points']);
    expect(figure.data[1].x).toHaveLength(61);
  });

  it('refuses a curve without points', () => {
    expect(() => figureOfPowerCurve({ ...powerCurve(), points: [] })).toThrow(
      'figureOfPowerCurve: `curve.points` must be at least one steady point (received 0)',
    );
  });
});
