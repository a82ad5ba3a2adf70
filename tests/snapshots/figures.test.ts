import { describe, expect, it } from 'vitest';
import type { Figure } from '../../toolkit/figures/figure.js';
import { figureTemplate } from '../../toolkit/figures/template.js';
import { everyFigure } from '../unit/figures/every-figure.js';

/**
 * The figure as JSON, one value per line, every number to four significant digits: what a reader can see. The
 * template, the same in all, has a snapshot of its own.
 */
function rounded(figure: Figure): string {
  const { template: _, ...layout } = figure.layout;
  return toText({ ...figure, layout });
}

function toText(value: unknown): string {
  const text = JSON.stringify(
    value,
    (_key, part: unknown) => (typeof part === 'number' ? Number(part.toPrecision(4)) : part),
    1,
  );
  // Lists of numbers on one line.
  return `${text.replace(/\[\s+((?:-?[\d.e-]+|null)(?:,\s+(?:-?[\d.e-]+|null))*)\s+\]/g, (_match, list: string) => `[${list.replace(/\s+/g, ' ')}]`)}\n`;
}

describe('figures as they were last looked at', () => {
  it.each(Object.entries(everyFigure))('%s', async (name, draw) => {
    await expect(rounded(draw())).toMatchFileSnapshot(`./${name}.txt`);
  });

  it('the template', async () => {
    await expect(toText(figureTemplate)).toMatchFileSnapshot('./figure-template.txt');
  });
});
