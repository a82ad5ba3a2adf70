// NIST StRD univariate summary statistics (US government data): certified means, standard deviations and lag-1
// autocorrelations.
import { describe, expect, test } from 'vitest';
import { autocorrelations, meanWithAutocorrelation } from '../../toolkit/numerics/autocorrelation.js';

const alternating = (base: number): number[] => [
  base + 0.2,
  ...Array.from({ length: 1000 }, (_, i) => base + (i % 2 === 0 ? 0.1 : 0.3)),
];

// Digits of the standard deviation are limited by the data: 10000000.1 itself carries an error of 1e-9.
const sets = [
  {
    name: 'Lew',
    mean: -177.435,
    standardDeviation: 277.332168044316,
    lag1: -0.307304800605679,
    tolerance: 1e-12,
    data: [
      -213, -564, -35, -15, 141, 115, -420, -360, 203, -338, -431, 194, -220, -513, 154, -125, -559, 92, -21,
      -579, -52, 99, -543, -175, 162, -457, -346, 204, -300, -474, 164, -107, -572, -8, 83, -541, -224, 180,
      -420, -374, 201, -236, -531, 83, 27, -564, -112, 131, -507, -254, 199, -311, -495, 143, -46, -579, -90,
      136, -472, -338, 202, -287, -477, 169, -124, -568, 17, 48, -568, -135, 162, -430, -422, 172, -74, -577,
      -13, 92, -534, -243, 194, -355, -465, 156, -81, -578, -64, 139, -449, -384, 193, -198, -538, 110, -44,
      -577, -6, 66, -552, -164, 161, -460, -344, 205, -281, -504, 134, -28, -576, -118, 156, -437, -381, 200,
      -220, -540, 83, 11, -568, -160, 172, -414, -408, 188, -125, -572, -32, 139, -492, -321, 205, -262, -504,
      142, -83, -574, 0, 48, -571, -106, 137, -501, -266, 190, -391, -406, 194, -186, -553, 83, -13, -577,
      -49, 103, -515, -280, 201, 300, -506, 131, -45, -578, -80, 138, -462, -361, 201, -211, -554, 32, 74,
      -533, -235, 187, -372, -442, 182, -147, -566, 25, 68, -535, -244, 194, -351, -463, 174, -125, -570, 15,
      72, -550, -190, 172, -424, -385, 198, -218, -536, 96,
    ],
  },
  {
    name: 'Lottery',
    mean: 518.95871559633,
    standardDeviation: 291.699727470969,
    lag1: -0.120948622967393,
    tolerance: 1e-12,
    data: [
      162, 671, 933, 414, 788, 730, 817, 33, 536, 875, 670, 236, 473, 167, 877, 980, 316, 950, 456, 92, 517,
      557, 956, 954, 104, 178, 794, 278, 147, 773, 437, 435, 502, 610, 582, 780, 689, 562, 964, 791, 28, 97,
      848, 281, 858, 538, 660, 972, 671, 613, 867, 448, 738, 966, 139, 636, 847, 659, 754, 243, 122, 455, 195,
      968, 793, 59, 730, 361, 574, 522, 97, 762, 431, 158, 429, 414, 22, 629, 788, 999, 187, 215, 810, 782,
      47, 34, 108, 986, 25, 644, 829, 630, 315, 567, 919, 331, 207, 412, 242, 607, 668, 944, 749, 168, 864,
      442, 533, 805, 372, 63, 458, 777, 416, 340, 436, 140, 919, 350, 510, 572, 905, 900, 85, 389, 473, 758,
      444, 169, 625, 692, 140, 897, 672, 288, 312, 860, 724, 226, 884, 508, 976, 741, 476, 417, 831, 15, 318,
      432, 241, 114, 799, 955, 833, 358, 935, 146, 630, 830, 440, 642, 356, 373, 271, 715, 367, 393, 190, 669,
      8, 861, 108, 795, 269, 590, 326, 866, 64, 523, 862, 840, 219, 382, 998, 4, 628, 305, 747, 247, 34, 747,
      729, 645, 856, 974, 24, 568, 24, 694, 608, 480, 410, 729, 947, 293, 53, 930, 223, 203, 677, 227, 62,
      455, 387, 318, 562, 242, 428, 968,
    ],
  },
  {
    name: 'Mavro',
    mean: 2.001856,
    standardDeviation: 0.000429123454003053,
    lag1: 0.937989183438248,
    tolerance: 1e-10,
    data: [
      2.0018, 2.0017, 2.0018, 2.0019, 2.0018, 2.0017, 2.0015, 2.0014, 2.0015, 2.0015, 2.0017, 2.0018, 2.0018,
      2.0019, 2.0019, 2.0021, 2.002, 2.0016, 2.0014, 2.0013, 2.0013, 2.0015, 2.0015, 2.0016, 2.0015, 2.0014,
      2.0013, 2.0014, 2.0015, 2.0014, 2.0015, 2.0016, 2.0015, 2.0016, 2.0019, 2.002, 2.002, 2.0021, 2.0022,
      2.0023, 2.0024, 2.0025, 2.0027, 2.0026, 2.0026, 2.0026, 2.0027, 2.0026, 2.0025, 2.0024,
    ],
  },
  {
    name: 'Michelso',
    mean: 299.8524,
    standardDeviation: 0.0790105478190518,
    lag1: 0.535199668621283,
    tolerance: 1e-10,
    data: [
      299.85, 299.74, 299.9, 300.07, 299.93, 299.85, 299.95, 299.98, 299.98, 299.88, 300, 299.98, 299.93,
      299.65, 299.76, 299.81, 300, 300, 299.96, 299.96, 299.96, 299.94, 299.96, 299.94, 299.88, 299.8, 299.85,
      299.88, 299.9, 299.84, 299.83, 299.79, 299.81, 299.88, 299.88, 299.83, 299.8, 299.79, 299.76, 299.8,
      299.88, 299.88, 299.88, 299.86, 299.72, 299.72, 299.62, 299.86, 299.97, 299.95, 299.88, 299.91, 299.85,
      299.87, 299.84, 299.84, 299.85, 299.84, 299.84, 299.84, 299.89, 299.81, 299.81, 299.82, 299.8, 299.77,
      299.76, 299.74, 299.75, 299.76, 299.91, 299.92, 299.89, 299.86, 299.88, 299.72, 299.84, 299.85, 299.85,
      299.78, 299.89, 299.84, 299.78, 299.81, 299.76, 299.81, 299.79, 299.81, 299.82, 299.85, 299.87, 299.87,
      299.81, 299.74, 299.81, 299.94, 299.95, 299.8, 299.81, 299.87,
    ],
  },
  {
    name: 'NumAcc1',
    mean: 10000002,
    standardDeviation: 1,
    lag1: -0.5,
    tolerance: 1e-12,
    data: [10000001, 10000003, 10000002],
  },
  {
    name: 'NumAcc2',
    mean: 1.2,
    standardDeviation: 0.1,
    lag1: -0.999,
    tolerance: 1e-12,
    data: alternating(1),
  },
  {
    name: 'NumAcc3',
    mean: 1000000.2,
    standardDeviation: 0.1,
    lag1: -0.999,
    tolerance: 1e-8,
    data: alternating(1_000_000),
  },
  {
    name: 'NumAcc4',
    mean: 10000000.2,
    standardDeviation: 0.1,
    lag1: -0.999,
    tolerance: 1e-7,
    data: alternating(10_000_000),
  },
];

describe.each(sets)('NIST StRD $name', ({ mean, standardDeviation, lag1, tolerance, data }) => {
  const computed = meanWithAutocorrelation(data);

  test('the mean and the lag-1 autocorrelation are the certified ones', () => {
    expect(Math.abs(computed.mean / mean - 1)).toBeLessThan(1e-14);
    expect(Math.abs(autocorrelations(data, 1)[1] - lag1)).toBeLessThan(tolerance);
  });

  test('the standard deviation is the certified one but for the correction that correlation asks for', () => {
    // NIST divides by n − 1, the mean of correlated samples by n − τ.
    const n = data.length;
    const ordinary =
      computed.standardDeviation * Math.sqrt((n - computed.samplesPerIndependentSample) / (n - 1));
    expect(Math.abs(ordinary / standardDeviation - 1)).toBeLessThan(tolerance);
  });
});

test('Mavro holds about two independent samples of its fifty, and its mean is as uncertain as that says', () => {
  const mavro = meanWithAutocorrelation(sets.find(({ name }) => name === 'Mavro')?.data ?? []);
  // A first-order process with the certified lag-1 correlation gives n (1 − r)/(1 + r) = 1.6 (recomputed); the
  // estimate never credits fewer than two.
  expect(mavro.effectiveSampleCount).toBeGreaterThanOrEqual(2);
  expect(mavro.effectiveSampleCount).toBeLessThan(5);
  expect(mavro.standardError).toBeGreaterThan(2.5 * 6.0687e-5);
});
