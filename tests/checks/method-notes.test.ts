import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { CORRECTION_SPREAD } from '../../toolkit/power/fit/correction-spread.js';
import {
  DEFAULT_CURVE_ASSUMPTIONS,
  REFERENCE_TEMPERATURE_C,
} from '../../toolkit/power/fit/curve-assumptions.js';
import { SHAPE_SCALE_RATIO } from '../../toolkit/power/forms/shape-correction.js';
import { LOWEST_EXPONENT } from '../../toolkit/power/forms/voltage-shape.js';
import { ASSUMED_EXPONENT } from '../../toolkit/thermal/assumed-exponent.js';
import { FAN_EXPONENT_PRIOR } from '../../toolkit/thermal/fan-law.js';
import { FIT_COOLER_DEFAULTS } from '../../toolkit/thermal/fit/fit-cooler.js';
import { FITTED_EXPONENT_PRIOR } from '../../toolkit/thermal/fit/fit-structure.js';
import { MOUNT_ALLOWANCE_FRACTION } from '../../toolkit/thermal/mount-spread.js';
import { REPOSITORY, typeScriptFiles } from './repository.js';
import { citationsIn } from './top-level.js';

const read = (path: string): string => readFileSync(join(REPOSITORY, path), 'utf8');
const notes = ['toolkit/thermal/METHOD.md', 'toolkit/power/METHOD.md', 'toolkit/cap/METHOD.md'];
const listed = [...read('toolkit/references.md').matchAll(/^- \[([^\]]+)\]/gm)].map(([, key]) => key);

/** The anchor that a page of Markdown gives a heading. */
const anchorOf = (heading: string): string =>
  heading
    .toLowerCase()
    .replace(/[^\p{L}\p{N} -]/gu, '')
    .trim()
    .replaceAll(' ', '-');

describe.each(notes)('%s', (path) => {
  const text = read(path);

  it('cites what toolkit/references.md lists', () => {
    const cited = citationsIn(text);
    expect(cited.length).toBeGreaterThan(3);
    expect(cited.filter(({ key }) => !listed.includes(key))).toEqual([]);
  });

  it('links to files and headings that exist', () => {
    const links = [...text.matchAll(/\]\(([^)\s]+)\)/g)].map(([, link]) => link.split('#'));
    expect(links.length).toBeGreaterThan(1);
    for (const [file, anchor] of links) {
      const target = join(dirname(path), file);
      expect(existsSync(join(REPOSITORY, target)), target).toBe(true);
      if (anchor === undefined) continue;
      const headings = [...read(target).matchAll(/^#+ (.+)$/gm)].map(([, heading]) => anchorOf(heading));
      expect(headings, target).toContain(anchor);
    }
  });

  it('names test files that exist', () => {
    const named = [...text.matchAll(/`(tests\/[\w/.-]+\.ts)`/g)].map(([, name]) => name);
    expect(named.filter((name) => !existsSync(join(REPOSITORY, name)))).toEqual([]);
  });

  it('names constants that the code beside it has', () => {
    const named = [...text.matchAll(/`([A-Z][A-Z_]+)`/g)].map(([, name]) => name);
    const code = typeScriptFiles(dirname(path)).map((file) => file.text);
    const lost = named.filter((name) => !code.some((source) => source.includes(`export const ${name}`)));
    expect(lost).toEqual([]);
  });

  it('closes every formula and says what is not modelled', () => {
    expect((text.replaceAll('$$', '').match(/\$/g) ?? []).length % 2).toBe(0);
    expect(text).toMatch(/^## What is not modelled$/m);
  });

  it('is linked from the README and the guide', () => {
    expect(read('README.md')).toContain(`](${path})`);
    expect(read('DEVELOPERS.md')).toContain(`](${path})`);
  });
});

describe('the numbers of the method notes', () => {
  const oneLine = (path: string): string => read(path).replace(/\s+/g, ' ');
  const percent = (share: number): string => `${Number((100 * share).toPrecision(6))}`;

  it('are those of the cooler fit', () => {
    const text = oneLine('toolkit/thermal/METHOD.md');
    for (const { mean, standardDeviation } of [FITTED_EXPONENT_PRIOR, ASSUMED_EXPONENT, FAN_EXPONENT_PRIOR])
      expect(text).toContain(`${mean} \\pm ${standardDeviation}$`);
    expect(text).toContain(`have 1 to ${FIT_COOLER_DEFAULTS.maxStageCount} stages`);
    expect(text).toContain(`allow ${percent(MOUNT_ALLOWANCE_FRACTION)} %`);
  });

  it('are those of the power curve', () => {
    const text = oneLine('toolkit/power/METHOD.md');
    const { exponentAboveLowest, exponentGrowth, basePowerFraction, leakagePowerFraction, leakageScaleK } =
      DEFAULT_CURVE_ASSUMPTIONS;
    expect(text).toContain(
      `$m - ${LOWEST_EXPONENT}$ from ${exponentAboveLowest.low} to ${exponentAboveLowest.high}, ` +
        `$\\gamma$ from ${exponentGrowth.low} to ${exponentGrowth.high}, ` +
        `base power ${percent(basePowerFraction.low)} to ${percent(basePowerFraction.high)} % and ` +
        `leakage at ${REFERENCE_TEMPERATURE_C} °C ${percent(leakagePowerFraction.low)} to ${percent(leakagePowerFraction.high)} % of the middle power, ` +
        `$\\theta$ from ${leakageScaleK.low} to ${leakageScaleK.high} K`,
    );
    expect(text).toContain(`about ${percent(CORRECTION_SPREAD)} % of $V^2$`);
    expect(SHAPE_SCALE_RATIO).toBe(0.1);
    expect(text).toContain('a tenth in frequency wide');
  });
});
