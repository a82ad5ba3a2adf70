import { describe, expect, it } from 'vitest';
import { darkPalette, darkTwins, lightPalette, type Palette } from '../../../toolkit/figures/palette.js';

type Rgb = readonly [number, number, number];

/** sRGB to linear light, IEC 61966-2-1. */
function linear(hex: string): Rgb {
  const channel = (at: number): number => {
    const value = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  };
  return [channel(1), channel(3), channel(5)];
}

/** Relative luminance, WCAG 2.2. */
function luminance([r, g, b]: Rgb): number {
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** Contrast ratio, WCAG 2.2. */
function contrast(a: string, b: string): number {
  const [light, dark] = [luminance(linear(a)), luminance(linear(b))].sort((x, y) => y - x) as [
    number,
    number,
  ];
  return (light + 0.05) / (dark + 0.05);
}

function lab([r, g, b]: Rgb): Rgb {
  const f = (t: number): number => (t > 216 / 24389 ? Math.cbrt(t) : ((24389 / 27) * t + 16) / 116);
  const x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
  const y = f(luminance([r, g, b]));
  const z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

/** Dichromats' view at full severity: G. M. Machado et al. 2009, IEEE TVCG 15, table 1 (values from memory). */
const views: Readonly<Record<string, readonly Rgb[]>> = {
  protanopia: [
    [0.152286, 1.052583, -0.204868],
    [0.114503, 0.786281, 0.099216],
    [-0.003882, -0.048116, 1.051998],
  ],
  deuteranopia: [
    [0.367322, 0.860646, -0.227968],
    [0.280085, 0.672501, 0.047413],
    [-0.01182, 0.04294, 0.968881],
  ],
  tritanopia: [
    [1.255528, -0.076749, -0.178779],
    [-0.078411, 0.930809, 0.147602],
    [0.004733, 0.691367, 0.3039],
  ],
};

function seen(colour: Rgb, view: readonly Rgb[]): Rgb {
  return view.map((row) =>
    Math.min(1, Math.max(0, row[0] * colour[0] + row[1] * colour[1] + row[2] * colour[2])),
  ) as unknown as Rgb;
}

const series = ['blue', 'red', 'ochre'] as const;

function pairs(): readonly (readonly [(typeof series)[number], (typeof series)[number]])[] {
  return [
    ['blue', 'red'],
    ['red', 'ochre'],
    ['blue', 'ochre'],
  ];
}

describe.each([
  ['light', lightPalette],
  ['dark', darkPalette],
] as readonly (readonly [string, Palette])[])('the %s palette', (_, palette) => {
  it('draws lines with at least 3:1 contrast (WCAG 2.2, 1.4.11) and text with 4.5:1 (1.4.3)', () => {
    for (const name of series) expect(contrast(palette[name], palette.paper), name).toBeGreaterThanOrEqual(3);
    for (const name of ['ink', 'quiet'] as const)
      expect(contrast(palette[name], palette.paper), name).toBeGreaterThanOrEqual(4.5);
  });

  it('keeps the series apart for colour-blind readers', () => {
    for (const [a, b] of pairs()) {
      for (const [view, matrix] of Object.entries(views)) {
        const first = lab(seen(linear(palette[a]), matrix));
        const second = lab(seen(linear(palette[b]), matrix));
        const distance = Math.hypot(first[0] - second[0], first[1] - second[1], first[2] - second[2]);
        // CIE 1976 ΔE: about 2.3 is just noticeable; thin lines need several times that.
        expect(distance, `${a} and ${b}, ${view}`).toBeGreaterThan(14);
      }
    }
  });
});

describe('greyscale', () => {
  it('keeps the light series apart by lightness alone', () => {
    const lightness = series.map((name) => lab(linear(lightPalette[name]))[0]);
    for (let i = 1; i < lightness.length; i++) expect(lightness[i] - lightness[i - 1]).toBeGreaterThan(8);
  });
});

describe('darkTwins', () => {
  it('has one dark colour for every light one', () => {
    expect(Object.keys(darkTwins)).toHaveLength(Object.keys(lightPalette).length);
  });
});
