import { describe, expect, it } from 'vitest';
import { exploreLadder } from '../../../../toolkit/notebook/panel/explore-ladder.js';
import { type LadderPanelData, ladderPanelModel } from '../../../../toolkit/notebook/panel/ladder-panel.js';
import { controlsHtml, panelHtml } from '../../../../toolkit/notebook/panel/panel-html.js';
import { firstSetting, type PanelModel } from '../../../../toolkit/notebook/panel/panel-model.js';

const oneStage: LadderPanelData = {
  panel: 'ladder',
  ladder: [{ heatCapacityJPerK: 330, resistanceKPerW: 0.45 }],
  powerW: 95,
  ambientC: 26,
  durationS: 900,
};

function readingsOf(model: PanelModel, change: Record<string, number> = {}): Record<string, string> {
  const { readings } = model.answer({ ...firstSetting(model), ...change });
  return Object.fromEntries(readings.map(({ name, text }) => [name, text]));
}

describe('the panel of a ladder', () => {
  it('answers with the closed forms of one stage', () => {
    // 26 + 95 · 0.45; 0.45 · 330 s; 148.5 s · ln 42.75, read from 240 points with the curve between them.
    expect(readingsOf(ladderPanelModel(oneStage))).toEqual({
      steadyTemperatureC: '68.8 °C',
      timeConstantsS: '149 s',
      settledS: '558 s',
    });
  });

  it('follows its controls, and says when the picture is too short', () => {
    const model = ladderPanelModel(oneStage);
    expect(readingsOf(model, { resistance0KPerW: 0.9 })).toEqual({
      steadyTemperatureC: '111.5 °C',
      timeConstantsS: '297 s',
      settledS: 'more than 900 s',
    });
    expect(model.answer({ ...firstSetting(model), ambientC: 20 }).code).toContain('ambientC: 20');
  });

  it('has a pair of controls for every rung, each starting at its own value', () => {
    const model = ladderPanelModel({
      ...oneStage,
      ladder: [
        { heatCapacityJPerK: 12, resistanceKPerW: 0.16 },
        { heatCapacityJPerK: 900, resistanceKPerW: 0.3 },
      ],
    });
    expect(model.controls.map(({ name }) => name)).toEqual([
      'heatCapacity0JPerK',
      'resistance0KPerW',
      'heatCapacity1JPerK',
      'resistance1KPerW',
      'powerW',
      'ambientC',
    ]);
    for (const { low, high, value } of model.controls) expect(value >= low && value <= high).toBe(true);
    expect(readingsOf(model)['timeConstantsS']).toMatch(/^1\.8\d* s, 2\d\d s$/);
  });
});

describe('the HTML of a panel', () => {
  const model = ladderPanelModel(oneStage);
  const html = panelHtml(
    model,
    JSON.stringify({ text: '"</section><script>alert(1)</script>' }),
    'run("</script>")',
  );

  it('stands for itself without scripts: answer and picture are in it, no dead controls', () => {
    expect(html).toContain('68.8 °C');
    const [, drawing = ''] = /<img alt="With 95 W [^"]+" [^>]*base64,([^"]+)"/.exec(html) ?? [];
    expect(Buffer.from(drawing, 'base64').toString('utf8')).toMatch(/^<svg .*68\.8 °C/s);
    expect(html).not.toMatch(/<input|<button/);
  });

  it('names every control for screen readers and keeps keys from the notebook', () => {
    const controls = controlsHtml(model);
    expect(controls.match(/<input /g)).toHaveLength(2 * model.controls.length);
    expect(controls.match(/aria-label="[^"]+"/g)!).toHaveLength(2 * model.controls.length);
    expect(html).toContain('data-lm-suppress-shortcuts="true"');
  });

  it('keeps every control on its steps, from values that are not round', () => {
    const uneven = ladderPanelModel({
      ...oneStage,
      ladder: [{ heatCapacityJPerK: 330.5, resistanceKPerW: 0.4567 }],
    });
    for (const { low, high, step, value } of uneven.controls) {
      expect(low <= value && value <= high).toBe(true);
      for (const end of [value, high])
        expect(Math.abs((end - low) / step - Math.round((end - low) / step))).toBeLessThan(1e-6);
    }
  });

  it('lets no data end its attribute or the script', () => {
    expect(html.match(/<script>/g)).toHaveLength(1);
    expect(html.match(/<\/script>/g)).toHaveLength(1);
    expect(html).not.toContain('alert(1)</script>');
  });
});

describe('exploreLadder', () => {
  it('refuses what is no ladder', () => {
    expect(() => exploreLadder([])).toThrow(/`ladder` must be an array of 1 to 4 rungs \(received 0\)/);
    expect(() => exploreLadder([{ heatCapacityJPerK: 0, resistanceKPerW: 1 }])).toThrow(
      /`ladder\[0\]\.heatCapacityJPerK` must be .*above 0/,
    );
    expect(() => exploreLadder(oneStage.ladder, { power: 90 } as object)).toThrow(/powerW/);
  });
});
