import { describe, expect, it } from 'vitest';
import { capFrontier } from '../../../toolkit/cap/frontier/cap-frontier.js';
import { shortlistCoolers } from '../../../toolkit/cap/shortlist/shortlist-coolers.js';
import { figureOfFrontier } from '../../../toolkit/figures/figure-of-frontier.js';
import { figureOfShortlist } from '../../../toolkit/figures/figure-of-shortlist.js';
import { plainCooler } from '../cap/plain-cooler.js';
import { plainCurve } from '../cap/plain-curve.js';
import { workedCurve } from '../cap/worked-curve.js';

const law = { resistanceStandardErrorKPerW: 0.01, degreesOfFreedom: 40 };
const cooler = plainCooler(law, { cooler: 'flat 58 mm' });
const scenario = { limitC: 80, ambientC: { low: 20, high: 26 }, maxCapW: 120 };

const labelsOf = (figure: ReturnType<typeof figureOfFrontier>): readonly string[] =>
  (figure.layout.annotations ?? []).map(({ text }) => text);

describe('figureOfFrontier', () => {
  const frontier = capFrontier(cooler, plainCurve(), scenario);
  const figure = figureOfFrontier(frontier);

  it('says the finding in the title and the whole in the description', () => {
    expect(figure.layout.meta.title).toBe(
      `Flat 58 mm holds 80 °C up to ${frontier.highestAllowedW} W; frequency has its knee at ${frontier.knee!.powerCapW} W`,
    );
    expect(figure.layout.meta.description).toBe(frontier.summary);
  });

  it('draws every line with its band, and gives every axis a title with its unit', () => {
    const names = figure.data.map(({ name }) => name);
    expect(names).toEqual([
      'Steady temperature, °C: 95 % band',
      'Steady temperature, °C',
      'Frequency, MHz: 95 % band',
      'Frequency, MHz',
    ]);
    const [band, line] = figure.data;
    expect(band.x).toHaveLength(2 * line.x.length);
    expect(figure.layout.xaxis?.title?.text).toBe('Power cap, W');
    expect(JSON.parse(JSON.stringify(figure))).toEqual(figure);
  });

  it('marks the limit, the highest cap allowed and the knee with its range', () => {
    expect(labelsOf(figure)).toEqual(
      expect.arrayContaining([
        'limit 80 °C',
        `up to ${frontier.highestAllowedW} W allowed`,
        `knee ${frontier.knee!.powerCapW} W`,
      ]),
    );
    const shade = figure.layout.shapes!.find(({ type }) => type === 'rect')!;
    expect([shade.x0, shade.x1]).toEqual(frontier.knee!.flatRangeW);
  });

  it('has a panel for work and work per energy where throughput is known, and for sound where a fan is set', () => {
    const worked = figureOfFrontier(capFrontier(cooler, workedCurve(), scenario));
    const titles = [worked.layout.yaxis, worked.layout.yaxis2, worked.layout.yaxis3].map(
      (axis) => axis?.title?.text,
    );
    expect(titles).toEqual(['Steady temperature, °C', 'Throughput, 1/s', 'Efficiency, 1/Wh']);
    const loud = {
      ...frontier,
      points: frontier.points.map((point) => ({ ...point, soundLevelDb: point.powerCapW / 3 })),
    };
    expect(figureOfFrontier(loud).layout.yaxis3?.title?.text).toBe('Sound level, dB');
  });

  it('draws temperatures alone without a curve', () => {
    const bare = figureOfFrontier(capFrontier(cooler, undefined, scenario));
    expect(bare.data).toHaveLength(2);
    expect(bare.layout.meta.title).toMatch(/^Flat 58 mm holds 80 °C up to \d+ W$/);
  });

  it('says so where no cap is allowed', () => {
    const hot = figureOfFrontier(capFrontier(cooler, undefined, { ...scenario, limitC: 35 }));
    expect(hot.layout.meta.title).toBe('Flat 58 mm holds 35 °C at no cap from 30 to 120 W');
  });

  it('refuses something else', () => {
    expect(() => figureOfFrontier({ kind: 'cap-choice' } as never)).toThrow(
      'figureOfFrontier: `frontier` must be a cap-frontier (received "cap-choice"); make one with capFrontier',
    );
  });
});

describe('figureOfShortlist', () => {
  const flat = plainCooler({ ...law, thermalResistanceKPerW: 0.7 }, { cooler: 'flat 41 mm' });
  const list = shortlistCoolers(
    [flat, cooler],
    undefined,
    { ...scenario, minCapW: 75, defaultCapW: 118 },
    {
      rooms: [
        { label: 'spring', ambientC: 18 },
        { label: 'summer', ambientC: 32 },
      ],
    },
  );
  const figure = figureOfShortlist(list);

  it('has one row per cooler, the best on top, a mark for each place, open where there is no cap of use', () => {
    expect(figure.layout.yaxis?.ticktext).toEqual(['flat 41 mm', 'flat 58 mm']);
    const [, caps, none] = figure.data;
    expect(caps.x).toHaveLength(list.entries.filter(({ kind }) => kind === 'cap').length);
    expect(none.x).toHaveLength(list.entries.filter(({ kind }) => kind === 'no-cap').length);
    // A shape for each place, said in words below the title; neither colour nor place in the row alone tells them apart.
    expect(caps.marker?.symbol).toEqual(
      list.entries.flatMap(({ kind, room }) =>
        kind === 'cap' ? [room === 'spring' ? 'circle' : 'square'] : [],
      ),
    );
    expect(none.marker).toMatchObject({ symbol: ['square'], line: { width: 1.8 } });
    expect(figure.layout.title.text.replace(/<[^>]*>/g, ' ')).toMatch(
      /● open bench, spring; ■ open bench,\s+summer/,
    );
    expect(none.text![0]).toBe('open bench, summer');
    expect(none.x[0]).toBeLessThan(75);
  });

  it('says the finding in the title, and draws the lowest cap of use and the default', () => {
    expect(figure.layout.meta.title).toBe(
      'Flat 58 mm suffices in both places, flat 41 mm does not: 80 °C at 75 W or more',
    );
    expect(labelsOf(figure)).toEqual(expect.arrayContaining(['lowest of use 75 W', 'default 118 W']));
    expect(figure.layout.meta.description).toBe(list.summary);
    expect(JSON.parse(JSON.stringify(figure))).toEqual(figure);
  });

  it('names how many suffice among several', () => {
    const many = { ...list, coolers: [...list.coolers, { ...list.coolers[0], cooler: 'tower 88 mm' }] };
    expect(figureOfShortlist(many).layout.meta.title).toBe(
      '2 of 3 coolers hold 80 °C at 75 W or more in both places',
    );
    const none = { ...list, coolers: [list.coolers[1]] };
    expect(figureOfShortlist(none).layout.meta.title).toBe(
      'No cooler holds 80 °C at 75 W or more in both places',
    );
  });

  it('names the one place in line, and no lowest cap that nobody gave', () => {
    const bench = shortlistCoolers([flat, cooler], undefined, { ...scenario, defaultCapW: 118 });
    const { layout } = figureOfShortlist(bench);
    expect(layout.meta.title).toMatch(/ 80 °C at some cap$/);
    expect(layout.title.text).toMatch(/95 % confidence, open bench\./);
  });

  it('refuses something else', () => {
    expect(() => figureOfShortlist([] as never)).toThrow(
      'figureOfShortlist: `shortlist` must be a cooler-shortlist (received an array of 0); make one with shortlistCoolers',
    );
  });
});
