import { formatEstimate, formatNumber } from '../numerics/format-estimate.js';
import type { PowerCurve } from '../power/power-curve.js';
import type { Finding } from '../runs/finding.js';
import type { CoolerModel } from '../thermal/cooler-model.js';
import type { CapChoice, SettledScenario } from './cap-choice.js';
import {
  areOfDifferentProcessors,
  highestPowerLogged,
  liesFarOutside,
  liesOutside,
  rangeInWords,
} from './cap-reach.js';

/** What a person should know before setting the cap, the most serious first. */
export function capCautions(
  cooler: CoolerModel,
  curve: PowerCurve | undefined,
  scenario: SettledScenario,
  choice: Pick<CapChoice, 'powerCapW' | 'frequencyMHz' | 'bindingConstraint'>,
): readonly string[] {
  return [
    ...serious(`cooler '${cooler.label}'`, cooler.findings),
    ...(curve === undefined ? [] : serious(`power curve '${curve.label}'`, curve.findings)),
    ...ofConvergence('cooler', cooler),
    ...(curve === undefined ? [] : ofConvergence('power curve', curve)),
    ...ofReach(cooler, choice.powerCapW),
    ...(curve === undefined ? [] : ofProcessors(cooler, curve)),
    ...ofExtrapolation(cooler, curve, choice),
    ...ofEnclosure(cooler, scenario),
    ...ofExponent(cooler, choice.powerCapW),
    ...ofFrequency(curve, choice.frequencyMHz),
    ...ofMakersCap(scenario, choice.powerCapW),
    ...(choice.bindingConstraint === 'tested-range' ? ofHighestLogged(cooler, curve) : []),
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

/** Why an answer should not be used as it stands, completing "Provisional, because …"; `undefined` where it may. */
export function provisionalBecause(
  cooler: CoolerModel,
  curve: PowerCurve | undefined,
  powerCapW: number,
): string | undefined {
  if (isDoubtful(cooler) || (curve !== undefined && isDoubtful(curve)))
    return 'the data carry a serious finding (see the cautions)';
  if (liesFarOutside(powerCapW, cooler.testedRange.powerW))
    return 'the cap lies far outside the powers that were logged (see the cautions)';
  return undefined;
}

function isDoubtful({ findings, termination }: CoolerModel | PowerCurve): boolean {
  return !termination.converged || findings.some(({ severity }) => severity === 'serious');
}

function ofReach(cooler: CoolerModel, powerCapW: number): readonly string[] {
  const { powerW } = cooler.testedRange;
  if (!liesFarOutside(powerCapW, powerW)) return [];
  const side = powerCapW < powerW[0] ? 'below half of' : 'above twice';
  return [
    `Far outside the data: the cap of ${powerCapW} W lies ${side} the ${rangeInWords(powerW)} the cooler was logged at. Log a run at about this cap before you rely on it.`,
  ];
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
  if (!areOfDifferentProcessors(cooler, curve)) return [];
  return [
    `The cooler was logged on '${cooler.processor}', the power curve on '${curve.processor}': another processor has another heat source and another curve; use runs of one processor for both.`,
  ];
}

function ofExtrapolation(
  cooler: CoolerModel,
  curve: PowerCurve | undefined,
  { powerCapW, frequencyMHz }: Pick<CapChoice, 'powerCapW' | 'frequencyMHz'>,
): readonly string[] {
  const cautions: string[] = [];
  if (liesOutside(powerCapW, cooler.testedRange.powerW))
    cautions.push(
      `Extrapolated: the cooler was logged at ${rangeInWords(cooler.testedRange.powerW)}, the cap is ${powerCapW} W; log a run at about this cap.`,
    );
  // Without a frequency there is nothing of the curve's to extrapolate.
  if (curve === undefined || frequencyMHz.kind === 'unavailable') return cautions;
  if (liesOutside(powerCapW, curve.testedRange.powerW))
    cautions.push(
      `Extrapolated: the power curve was logged at ${rangeInWords(curve.testedRange.powerW)}, the cap is ${powerCapW} W, so its frequency and cost are uncertain; log a run at about this cap.`,
    );
  else if (frequencyMHz.extrapolated === true)
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

function ofFrequency(
  curve: PowerCurve | undefined,
  frequencyMHz: CapChoice['frequencyMHz'],
): readonly string[] {
  if (curve === undefined)
    return [
      'No power curve is given, so the frequency at the cap and the cost of the cap are not known: log the core frequency, the mean over the busy cores, at two or more caps.',
    ];
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

function ofHighestLogged(cooler: CoolerModel, curve: PowerCurve | undefined): readonly string[] {
  return [
    `The cap stops at the highest power logged, ${formatNumber(highestPowerLogged(cooler, curve))} W, since nothing says how high it may be. By temperature more may be possible: give the maker's default cap or the highest you allow (\`defaultCapW\` or \`maxCapW\`).`,
  ];
}
