import { formatEstimate, formatNumber } from '../numerics/format-estimate.js';
import type { PowerCurve } from '../power/power-curve.js';
import type { Finding } from '../runs/finding.js';
import type { CoolerModel } from '../thermal/cooler-model.js';
import type { CapChoice, SettledScenario } from './cap-choice.js';

/** A cap may leave the tested range by this share of its end before it counts as extrapolated. */
const EXTRAPOLATION_TOLERANCE = 0.02;

/** Whether a power lies outside a tested range by more than 2 %. */
export function liesOutside(powerW: number, [lowW, highW]: readonly [number, number]): boolean {
  return powerW < lowW * (1 - EXTRAPOLATION_TOLERANCE) || powerW > highW * (1 + EXTRAPOLATION_TOLERANCE);
}

/** What a person should know before setting the cap, the most serious first. */
export function capCautions(
  cooler: CoolerModel,
  curve: PowerCurve,
  scenario: SettledScenario,
  choice: Pick<CapChoice, 'powerCapW' | 'frequencyMHz'>,
): readonly string[] {
  return [
    ...serious(`cooler '${cooler.label}'`, cooler.findings),
    ...serious(`power curve '${curve.label}'`, curve.findings),
    ...ofConvergence('cooler', cooler),
    ...ofConvergence('power curve', curve),
    ...ofProcessors(cooler, curve),
    ...ofExtrapolation(cooler, curve, choice),
    ...ofEnclosure(cooler, scenario),
    ...ofExponent(cooler, choice.powerCapW),
    ...ofFrequency(curve, choice.frequencyMHz),
    ...ofMakersCap(scenario, choice.powerCapW),
    "Stay within the makers' limits for temperature, power and voltage: they come before this answer. A cap is a setting, not a protection: leave the processor's own thermal protection on, and check the temperature after setting the cap.",
    'Leave work inside power supplies or on mains wiring to licensed practice and follow the local codes, also for closing ventilation openings of an enclosure.',
  ];
}

function serious(of: string, findings: readonly Finding[]): readonly string[] {
  return findings
    .filter((finding) => finding.severity === 'serious')
    .map(
      ({ message, remedy }) =>
        `Serious finding of the ${of}: ${message}${remedy === undefined ? '' : ` ${sentence(remedy)}`}`,
    );
}

/** Whether a model carries a finding that its answers should not be used as they stand. */
export function isProvisional(model: Pick<CoolerModel | PowerCurve, 'findings' | 'termination'>): boolean {
  return !model.termination.converged || model.findings.some(({ severity }) => severity === 'serious');
}

function ofConvergence(
  what: string,
  { label, termination }: Pick<CoolerModel | PowerCurve, 'label' | 'termination'>,
): readonly string[] {
  if (termination.converged) return [];
  return [
    `The fit of the ${what} '${label}' did not converge (${termination.message}): do not use the cap before it does.`,
  ];
}

function sentence(text: string): string {
  const capital = text.charAt(0).toUpperCase() + text.slice(1);
  return /[.!?]$/.test(capital) ? capital : `${capital}.`;
}

function ofProcessors(cooler: CoolerModel, curve: PowerCurve): readonly string[] {
  if (cooler.processor === undefined || curve.processor === undefined || cooler.processor === curve.processor)
    return [];
  return [
    `The cooler was logged on '${cooler.processor}', the power curve on '${curve.processor}': another processor has another heat source and another curve; use runs of one processor for both.`,
  ];
}

function ofExtrapolation(
  cooler: CoolerModel,
  curve: PowerCurve,
  { powerCapW, frequencyMHz }: Pick<CapChoice, 'powerCapW' | 'frequencyMHz'>,
): readonly string[] {
  const range = ([low, high]: readonly [number, number]) =>
    low === high ? `${formatNumber(low)} W` : `${formatNumber(low)} to ${formatNumber(high)} W`;
  const cautions: string[] = [];
  if (liesOutside(powerCapW, cooler.testedRange.powerW))
    cautions.push(
      `Extrapolated: the cooler was logged at ${range(cooler.testedRange.powerW)}, the cap is ${powerCapW} W; log a run at about this cap.`,
    );
  if (liesOutside(powerCapW, curve.testedRange.powerW))
    cautions.push(
      `Extrapolated: the power curve was logged at ${range(curve.testedRange.powerW)}, the cap is ${powerCapW} W, so its frequency and cost are uncertain; log a run at about this cap.`,
    );
  else if (frequencyMHz.kind === 'estimated' && frequencyMHz.extrapolated === true)
    cautions.push(
      'Extrapolated: the frequency at the cap lies outside the temperatures the power curve was logged at; log a run at about this cap on this cooler.',
    );
  return cautions;
}

function ofEnclosure(cooler: CoolerModel, scenario: SettledScenario): readonly string[] {
  const loggedInside = cooler.enclosure !== undefined && !/^open\b/i.test(cooler.enclosure.trim());
  if (scenario.enclosure === undefined)
    return loggedInside
      ? [
          `The cooler was logged in '${cooler.enclosure}' and no enclosure rise is given: the cap holds there if the room air was measured outside it, and for an open bench if the air was measured at the cooler's intake.`,
        ]
      : [
          'Open bench: no enclosure is given. An enclosure commonly adds 5 to 15 K to the intake air; give `enclosure: { riseK }` for the place where the machine will live.',
        ];
  return loggedInside
    ? [
        `The cooler was logged in '${cooler.enclosure}' and an enclosure rise is given as well: unless the air was measured at the cooler's intake, the rise counts twice.`,
      ]
    : [];
}

function ofExponent(cooler: CoolerModel, powerCapW: number): readonly string[] {
  const { exponentSource, atPowerW, powerExponent, exponentStandardError } = cooler.resistanceLaw;
  if (exponentSource === 'fitted' || !liesOutside(powerCapW, cooler.testedRange.powerW)) return [];
  return [
    `How the thermal resistance changes with power beyond what was logged is assumed: R ∝ P^−q with q = ${powerExponent} and a standard deviation of ${exponentStandardError}, from ${formatNumber(atPowerW)} W to the cap; log a run at a second cap.`,
  ];
}

function ofFrequency(curve: PowerCurve, frequencyMHz: CapChoice['frequencyMHz']): readonly string[] {
  if (frequencyMHz.kind === 'estimated') return [];
  return [
    `The frequency at the cap is ${formatEstimate(frequencyMHz)} from the power curve '${curve.label}', so the cost of the cap is not known; log runs at two or more caps and fit the curve again.`,
  ];
}

function ofMakersCap(scenario: SettledScenario, powerCapW: number): readonly string[] {
  const { defaultCapW } = scenario;
  if (defaultCapW === undefined || powerCapW <= defaultCapW) return [];
  return [
    `The cap lies above the maker's default of ${defaultCapW} W, because \`maxCapW\` allows it: board, supply and warranty may not.`,
  ];
}
