import { capFrontier } from '../../../toolkit/cap/frontier/cap-frontier.js';
import { shortlistCoolers } from '../../../toolkit/cap/shortlist/shortlist-coolers.js';
import type { Figure } from '../../../toolkit/figures/figure.js';
import { figureOfCapChoice } from '../../../toolkit/figures/figure-of-cap-choice.js';
import { figureOfComparison } from '../../../toolkit/figures/figure-of-comparison.js';
import { figureOfCycles } from '../../../toolkit/figures/figure-of-cycles.js';
import { figureOfFit } from '../../../toolkit/figures/figure-of-fit.js';
import { figureOfFrontier } from '../../../toolkit/figures/figure-of-frontier.js';
import { figureOfPowerCurve } from '../../../toolkit/figures/figure-of-power-curve.js';
import { figureOfRun } from '../../../toolkit/figures/figure-of-run.js';
import { figureOfShortlist } from '../../../toolkit/figures/figure-of-shortlist.js';
import { figureOfSlowdown } from '../../../toolkit/figures/figure-of-slowdown.js';
import { figureOfStepResponse } from '../../../toolkit/figures/figure-of-step-response.js';
import { figureOfStructureFunction } from '../../../toolkit/figures/figure-of-structure-function.js';
import { countCycles } from '../../../toolkit/wear/count-cycles.js';
import { loweredVoltage } from './lowered-voltage.js';
import { capChoice, coolerModel, drawerRun, powerCurve, theatreComparison } from './puppet-theatre.js';

// Coarse sampling keeps the files short; everything else is as in a real run.
const run = drawerRun({ sampleCount: 120 });

const drawer = {
  limitC: 85,
  ambientC: { low: 22, high: 28 },
  enclosure: { riseK: 9, atPowerW: 92 },
  defaultCapW: 118,
};
const acts = [24, 81, 62, 84, 59, 80, 35, 83, 60, 82, 26];

/** One of every figure there is, by name, of a short run; whatever holds for all of them is tested on these. */
export const everyFigure: Readonly<Record<string, () => Figure>> = {
  'figure-of-run': () => figureOfRun(run),
  'figure-of-fit': () => figureOfFit(run, coolerModel()),
  'figure-of-step-response': () => figureOfStepResponse(coolerModel()),
  'figure-of-structure-function': () => figureOfStructureFunction(coolerModel()),
  'figure-of-power-curve': () => figureOfPowerCurve(powerCurve()),
  'figure-of-slowdown': () => figureOfSlowdown(loweredVoltage()),
  'figure-of-cap-choice': () => figureOfCapChoice(capChoice(), { place: 'in the drawer' }),
  'figure-of-comparison-caps': () =>
    figureOfComparison([
      capChoice(),
      capChoice({ cooler: 'Flat 41 mm', resistanceKPerW: 0.78 }),
      capChoice({ cooler: 'Tower 88 mm', resistanceKPerW: 0.36 }),
    ]),
  'figure-of-comparison-resistances': () =>
    figureOfComparison([coolerModel(), coolerModel({ cooler: 'Loop 140 mm', resistanceKPerW: 0.31 })]),
  'figure-of-frontier': () =>
    figureOfFrontier(capFrontier(coolerModel(), powerCurve(), drawer, { capCount: 12 })),
  'figure-of-shortlist': () =>
    figureOfShortlist(
      shortlistCoolers(
        [coolerModel(), coolerModel({ cooler: 'Flat 41 mm', resistanceKPerW: 0.78 })],
        powerCurve(),
        { ...drawer, minCapW: 70 },
        {
          rooms: [
            { label: 'spring', ambientC: 18 },
            { label: 'summer', ambientC: { low: 27, high: 33 } },
          ],
        },
      ),
    ),
  'figure-of-cycles': () =>
    figureOfCycles(
      countCycles({ label: 'two acts', timeS: acts.map((_, i) => 600 * i), temperatureC: acts }),
    ),
  'figure-of-comparison-coolers': () => figureOfComparison(theatreComparison()),
};
