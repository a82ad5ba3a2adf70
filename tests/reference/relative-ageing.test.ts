import { describe, expect, it } from 'vitest';
import { arrheniusRatio, BOLTZMANN_EV_PER_K, cyclingRatio } from '../../toolkit/wear/ageing-laws.js';
import { relativeAgeing } from '../../toolkit/wear/relative-ageing.js';

const DAY_S = 86_400;

/** One whole cycle, played again and again. */
function cyclesPerDay(label: string, perDay: number, highestC: number, rangeK: number) {
  const periodS = DAY_S / perDay;
  return {
    label,
    timeS: [0, periodS / 2, periodS],
    temperatureC: [highestC - rangeK, highestC, highestC - rangeK],
  };
}

const constant = (temperatureC: number) => ({
  label: `${temperatureC} °C`,
  timeS: [0, 3600],
  temperatureC: [temperatureC, temperatureC],
});

describe('ageing by time at temperature against published Arrhenius factors', () => {
  it.each([
    // NIST/SEMATECH e-Handbook, 8.1.5.1, 25 against 125 °C: 133 and 17,597 (values from memory). The book takes
    // k = 8.617e-5 eV/K and zero at 273.16 K; the constants of today move the second by 0.02 %.
    [0.5, 133, 0.005],
    [1, 17_597, 0.0005],
  ])('gives the e-Handbook factor for %f eV', (activationEnergyEv, published, tolerance) => {
    const ratio = arrheniusRatio({ temperatureC: 125, referenceC: 25, activationEnergyEv });
    expect(Math.abs(ratio / published - 1)).toBeLessThan(tolerance);
    const ageing = relativeAgeing(constant(125), constant(25), {
      steadyActivationEnergyEv: activationEnergyEv,
    });
    expect(ageing.steady).toMatchObject({ kind: 'compared' });
    if (ageing.steady.kind === 'compared') expect(ageing.steady.speedRatio / ratio).toBeCloseTo(1, 12);
  });

  it('gives the factor of 77.9 for 0.7 eV, 55 against 125 °C (JEP122 and JESD85, value from memory)', () => {
    // Printed for zero at 273 K, which makes 0.4 % of difference.
    const ratio = arrheniusRatio({ temperatureC: 125, referenceC: 55, activationEnergyEv: 0.7 });
    expect(Math.abs(ratio / 77.9 - 1)).toBeLessThan(0.005);
  });

  it.each([
    // Recomputed with the constants of CODATA 2018.
    [0.3, 40, 85, 4.0423647401778755],
    [0.5, 70, 80, 1.6141358486502007],
    [0.7, 60, 100, 13.649965010242463],
    [0.9, 55, 125, 269.24563341672444],
    [1.1, 40, 85, 167.62166721563273],
  ])(
    'gives the recomputed factor for %f eV, %f against %f °C',
    (energyEv, referenceC, temperatureC, factor) => {
      const ratio = arrheniusRatio({ temperatureC, referenceC, activationEnergyEv: energyEv });
      expect(ratio / factor).toBeCloseTo(1, 8);
    },
  );
});

describe('ageing by cycles against published Norris-Landzberg and Coffin-Manson factors', () => {
  const law = {
    rangeExponent: 1.9,
    frequencyExponent: 1 / 3,
    cyclingActivationEnergyEv: 1414 * BOLTZMANN_EV_PER_K,
    smallestRangeK: 0,
  };

  it.each([
    // AF = (ΔTt/ΔTu)^1.9 (fu/ft)^(1/3) exp[1414 (1/Tu − 1/Tt)], Norris and Landzberg 1969 (value from memory; the
    // exponents as read in an open space-reliability handbook), recomputed.
    [100, 40, 48, 2, 100, 65, 2.9265272773139874],
    [100, 20, 24, 4, 100, 85, 13.727271614788652],
    [165, 60, 24, 6, 125, 80, 6.769874781842943],
    [100, 100, 24, 24, 100, 100, 1],
  ])('gives AF of %d K against %d K', (testK, useK, testPerDay, usePerDay, testC, useC, factor) => {
    const ageing = relativeAgeing(
      cyclesPerDay('test', testPerDay, testC, testK),
      cyclesPerDay('use', usePerDay, useC, useK),
      law,
    );
    if (ageing.cycling.kind !== 'compared') throw new Error(ageing.cycling.reason);
    // The factor is per cycle; ours is per hour.
    expect(ageing.cycling.speedRatio / ((factor * testPerDay) / usePerDay)).toBeCloseTo(1, 9);
    expect(
      cyclingRatio({
        cycle: { rangeK: testK, highestC: testC, periodS: DAY_S / testPerDay },
        reference: { rangeK: useK, highestC: useC, periodS: DAY_S / usePerDay },
        rangeExponent: law.rangeExponent,
        frequencyExponent: law.frequencyExponent,
        activationEnergyEv: law.cyclingActivationEnergyEv,
      }) / factor,
    ).toBeCloseTo(1, 9);
  });

  it.each([
    // N_use/N_test = (ΔT_test/ΔT_use)^q, JESD94 and JEP122 (form from memory), recomputed.
    [100, 50, 2, 4],
    [165, 40, 2.5, 34.55889774472094],
    [165, 40, 4, 289.531494140625],
    [125, 25, 1.9, 21.28349806301961],
    [180, 60, 6, 729],
  ])(
    'gives the plain ratio of %d K against %d K with the exponent %f',
    (testK, useK, rangeExponent, factor) => {
      const plain = { rangeExponent, frequencyExponent: 0, cyclingActivationEnergyEv: 0, smallestRangeK: 0 };
      const ageing = relativeAgeing(
        cyclesPerDay('test', 24, 190, testK),
        cyclesPerDay('use', 24, 70, useK),
        plain,
      );
      if (ageing.cycling.kind !== 'compared') throw new Error(ageing.cycling.reason);
      expect(ageing.cycling.speedRatio / factor).toBeCloseTo(1, 10);
    },
  );

  it("adds cycles of several ranges up by Miner's rule (recomputed: 0.192 of 10^7 at exponent 2)", () => {
    // 1000 cycles of 20 K, 500 of 40 K and 200 of 60 K against N = 10^7/ΔT² of one kind: 0.192.
    const temperatureC = [
      ...Array.from({ length: 1000 }, () => [0, 20]).flat(),
      ...Array.from({ length: 500 }, () => [0, 40]).flat(),
      ...Array.from({ length: 200 }, () => [0, 60]).flat(),
      0,
    ];
    const mixed = { label: 'mixed', timeS: temperatureC.map((_, i) => i), temperatureC };
    // One cycle of 10 K in the same time: 10²/10^7 of a life.
    const half = (temperatureC.length - 1) / 2;
    const single = { label: 'single', timeS: [0, half, 2 * half], temperatureC: [0, 10, 0] };
    const ageing = relativeAgeing(mixed, single, {
      rangeExponent: 2,
      frequencyExponent: 0,
      cyclingActivationEnergyEv: 0,
      smallestRangeK: 0,
    });
    if (ageing.cycling.kind !== 'compared') throw new Error(ageing.cycling.reason);
    expect(ageing.cycling.speedRatio * (10 ** 2 / 1e7)).toBeCloseTo(0.192, 12);
  });
});
