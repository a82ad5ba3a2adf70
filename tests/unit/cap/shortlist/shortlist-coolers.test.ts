import { describe, expect, it } from 'vitest';
import { chooseCap } from '../../../../toolkit/cap/choose/choose-cap.js';
import type { ShortlistEntry } from '../../../../toolkit/cap/shortlist/cooler-shortlist.js';
import { shortlistCoolers } from '../../../../toolkit/cap/shortlist/shortlist-coolers.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { plainCooler } from '../plain-cooler.js';
import { plainCurve } from '../plain-curve.js';

const named = (cooler: string, thermalResistanceKPerW: number): CoolerModel =>
  plainCooler(
    { thermalResistanceKPerW, resistanceStandardErrorKPerW: 0.008, degreesOfFreedom: 40 },
    { cooler },
  );
const flat = named('flat 41 mm', 0.68);
const tower = named('tower 88 mm', 0.45);
const loop = named('loop 140 mm', 0.36);
const scenario = { limitC: 80, ambientC: 24, minCapW: 65, defaultCapW: 118 };
const options = {
  enclosures: [
    { label: 'open bench' },
    { label: 'the drawer', enclosure: { riseK: { low: 8, high: 11 }, atPowerW: 95 } },
  ],
  rooms: [
    { label: 'spring', ambientC: 18 },
    { label: 'summer', ambientC: { low: 27, high: 33 } },
  ],
};

describe('shortlistCoolers', () => {
  const list = shortlistCoolers([flat, loop, tower], plainCurve(), scenario, options);

  it('gives each cooler in each place the cap that chooseCap gives', () => {
    expect(list.entries).toHaveLength(12);
    for (const [model, name] of [
      [tower, 'tower 88 mm'],
      [loop, 'loop 140 mm'],
    ] as const)
      for (const { label: enclosure, enclosure: rise } of options.enclosures)
        for (const { label: room, ambientC } of options.rooms) {
          const choice = chooseCap(model, plainCurve(), {
            ...scenario,
            ambientC,
            ...(rise === undefined ? {} : { enclosure: rise }),
          });
          const entry = list.entries.find(
            (one) => one.cooler === name && one.enclosure === enclosure && one.room === room,
          )!;
          expect(entry).toMatchObject({
            kind: 'cap',
            powerCapW: choice.powerCapW,
            bindingConstraint: choice.bindingConstraint,
            steadyTemperatureC: choice.steadyTemperatureC,
            frequencyMHz: choice.frequencyMHz,
            extrapolated: choice.extrapolated,
          });
        }
  });

  it('orders coolers by the places they suffice in, then by their lowest cap', () => {
    expect(list.coolers.map(({ cooler, suffices }) => [cooler, suffices])).toEqual([
      ['loop 140 mm', 'everywhere'],
      ['tower 88 mm', 'everywhere'],
      ['flat 41 mm', 'somewhere'],
    ]);
    expect(list.coolers[0].lowestCapW!).toBeGreaterThan(list.coolers[1].lowestCapW!);
    expect([...new Set(list.entries.map(({ cooler }) => cooler))]).toEqual(
      list.coolers.map(({ cooler }) => cooler),
    );
    expect(shortlistCoolers([tower, flat, loop], plainCurve(), scenario, options).entries).toEqual(
      list.entries,
    );
  });

  it('says by how much a cooler fails: short by so many watts, too warm by so many kelvins', () => {
    const failing = list.entries.filter(
      (entry): entry is Extract<ShortlistEntry, { kind: 'no-cap' }> => entry.kind === 'no-cap',
    );
    const worst = failing.find(({ enclosure, room }) => enclosure === 'the drawer' && room === 'summer')!;
    expect(worst.lowestCapW).toBe(65);
    expect(worst.shortByW!).toBeGreaterThan(0);
    // With a constant resistance, kelvins and watts are in the ratio of the slope: resistance plus the enclosure's.
    expect(worst.excessK / worst.shortByW!).toBeGreaterThan(0.68);
    expect(worst.excessK / worst.shortByW!).toBeLessThan(0.85);
    expect(worst.chanceOfSufficing).toBeLessThan(0.95);
    expect(worst.reason).toMatch(/^no cap from 65 W up holds 80 °C with 95 % confidence/);
    // A room cooler by just that much makes it suffice.
    const cooler = shortlistCoolers([flat], plainCurve(), scenario, {
      enclosures: [options.enclosures[1]],
      rooms: [
        { label: 'aired', ambientC: { low: 27 - worst.excessK - 0.01, high: 33 - worst.excessK - 0.01 } },
      ],
    });
    expect(cooler.coolers[0].suffices).toBe('everywhere');
  });

  it('says which suffice in one sentence, and the shortfall of each other', () => {
    expect(list.summary).toMatch(
      /^2 of 3 coolers hold 80 °C at a cap of 65 W or more in all 4 places: 'loop 140 mm' \(\d+ to 118 W\), 'tower 88 mm' \(\d+ to 118 W\)\. 'flat 41 mm' does in [123] of 4 places: worst in the drawer, summer, \d+\.\d K too warm at 65 W, \d+ W short\.$/,
    );
    expect(shortlistCoolers([loop], undefined, scenario).summary).toBe(
      "The cooler holds 80 °C at a cap of 65 W or more: 'loop 140 mm' (118 W).",
    );
    expect(
      shortlistCoolers([loop, tower], undefined, {
        ...scenario,
        minCapW: 40,
        maxCapW: 60,
        defaultCapW: undefined,
      } as never).summary,
    ).toBe("All 2 coolers hold 80 °C at a cap of 40 W or more: 'loop 140 mm' (60 W), 'tower 88 mm' (60 W).");
    expect(shortlistCoolers([flat], undefined, { ...scenario, limitC: 60 }).summary).toMatch(
      /^No cooler holds 60 °C at a cap of 65 W or more\. 'flat 41 mm' does not: \d+\.\d K too warm at 65 W, \d+ W short\.$/,
    );
  });

  it('goes on with the others where one cooler carries no cap', () => {
    const unknown: CoolerModel = {
      ...named('without a resistance', 0.5),
      thermalResistanceKPerW: { kind: 'unavailable', reason: 'not-identifiable' },
    };
    const mixed = shortlistCoolers([unknown, loop], undefined, scenario);
    expect(mixed.coolers.map(({ suffices }) => suffices)).toEqual(['everywhere', 'not-known']);
    expect(mixed.summary).toContain(
      "'without a resistance' cannot be judged everywhere: the thermal resistance of",
    );
    expect(() => shortlistCoolers([unknown], undefined, scenario)).toThrow(
      /^shortlistCoolers: no cooler carries a cap in any place; the first: the thermal resistance of/,
    );
  });

  it('numbers coolers of one name, and survives JSON', () => {
    const twice = shortlistCoolers([loop, loop], undefined, scenario);
    expect(new Set(twice.coolers.map(({ cooler }) => cooler)).size).toBe(2);
    expect(JSON.parse(JSON.stringify(list))).toEqual(list);
  });

  it('cautions of the open bench, of one mount, of a missing lowest cap and of another processor', () => {
    const { minCapW: _, ...withoutLowest } = scenario;
    const { cautions } = shortlistCoolers(
      [{ ...loop, processor: 'twelve-core' }, tower],
      plainCurve({ processor: 'another' }),
      withoutLowest,
    );
    const text = cautions.join(' ');
    expect(text).toContain("Another processor than that of the power curve: 'flat 58 mm'");
    expect(text).toContain('Open bench');
    expect(text).toContain('one mount');
    expect(text).toContain('give minCapW');
    expect(list.cautions.join(' ')).not.toContain('Open bench');
  });

  it.each<[string, () => unknown, string]>([
    [
      'no cooler',
      () => shortlistCoolers([], undefined, scenario),
      'shortlistCoolers: `coolers` must be an array of at least one cooler model (received an array of 0); make them with fitCooler, one for each group of groupRuns(runs)',
    ],
    [
      'one cooler outside an array',
      () => shortlistCoolers(loop as never, undefined, scenario),
      'shortlistCoolers: `coolers` must be an array of at least one cooler model (received an object)',
    ],
    [
      'something else among them',
      () => shortlistCoolers([loop, { kind: 'run' } as never], undefined, scenario),
      'shortlistCoolers: `coolers[1]` must be a cooler-model (received "run")',
    ],
    [
      'two rooms of one name',
      () => shortlistCoolers([loop], undefined, scenario, { rooms: [options.rooms[0], options.rooms[0]] }),
      'shortlistCoolers: `options.rooms[1].label` must be a name of its own (received "spring")',
    ],
    [
      'a mistyped place',
      () =>
        shortlistCoolers([loop], undefined, scenario, {
          enclosures: [{ label: 'drawer', rise: 9 } as never],
        }),
      'shortlistCoolers: `options.enclosures[0].rise` must be one of label, enclosure (received "rise")',
    ],
    [
      'no place',
      () => shortlistCoolers([loop], undefined, scenario, { rooms: [] }),
      'shortlistCoolers: `options.rooms` must be a list with at least one place (received an array of 0)',
    ],
    [
      'a room in another unit',
      () => shortlistCoolers([loop], undefined, scenario, { rooms: [{ label: 'summer', ambientC: 86 }] }),
      'shortlistCoolers: `scenario.ambientC` must be room air in degrees Celsius, -60 to 60 (received 86)',
    ],
  ])('refuses %s', (_, call, message) => {
    expect(call).toThrow(message);
  });
});
