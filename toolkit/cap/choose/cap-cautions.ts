import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { Finding } from '../../runs/finding.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import type { FanCurve } from '../../thermal/fan-curve.js';
import type { SettledScenario } from '../scenario/cap-scenario.js';
import { centreOf } from '../scenario/uncertain-input.js';
import {
  areOfDifferentProcessors,
  highestPowerLogged,
  liesFarOutside,
  liesOutside,
  rangeInWords,
} from '../setting/cap-reach.js';
import type { PreparedCap } from '../setting/prepared-cap.js';
import type { CapChoice } from './cap-choice.js';

/** Above these a limit, or room air, is more often meant in degrees Fahrenheit than in degrees Celsius. */
const DOUBTFUL_LIMIT_C = 115;
const DOUBTFUL_ROOM_C = 45;

/** What of a choice decides which cautions it needs; of a cap set by hand nothing is said to bind. */
type ChoiceToCaution = Pick<
  CapChoice,
  'powerCapW' | 'frequencyMHz' | 'fan' | 'voltageOffsetMv' | 'shortTerm' | 'packagePowerW'
> &
  Partial<Pick<CapChoice, 'bindingConstraint'>>;

/** What a person should know before setting the cap, the most serious first. */
export function capCautions(
  prepared: Pick<PreparedCap, 'cooler' | 'scenario' | 'coolers' | 'ownCurves' | 'fanCurve'>,
  curve: PowerCurve | undefined,
  choice: ChoiceToCaution,
): readonly string[] {
  const { cooler, scenario } = prepared;
  return [
    ...serious(`cooler '${cooler.label}'`, cooler.findings),
    ...(curve === undefined ? [] : serious(`power curve '${curve.label}'`, curve.findings)),
    ...ofConvergence('cooler', cooler),
    ...(curve === undefined ? [] : ofConvergence('power curve', curve)),
    ...ofReach(cooler, choice.powerCapW),
    ...(curve === undefined ? [] : ofProcessors(cooler, curve)),
    ...ofLoads(prepared),
    ...ofUnits(scenario),
    ...ofExtrapolation(cooler, curve, choice),
    ...ofEnclosure(cooler, scenario),
    ...ofExponent(cooler, choice.powerCapW),
    ...ofFrequency(curve, choice.frequencyMHz),
    ...ofVoltage(curve, choice),
    ...ofSlowedRuns(curve, scenario),
    ...ofFan(choice, prepared.fanCurve, scenario),
    ...ofShortTerm(cooler, choice),
    ...ofTopFrequency(scenario, choice),
    ...ofPeaks(cooler, scenario),
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

/** Loads under one cap run on one processor, under one cooler. */
function ofLoads({
  cooler,
  scenario,
  coolers,
  ownCurves,
}: Pick<PreparedCap, 'cooler' | 'scenario' | 'coolers' | 'ownCurves'>): readonly string[] {
  const { workloads } = scenario;
  if (workloads === undefined) return [];
  const differing = (names: readonly (string | undefined)[]): readonly string[] => [
    ...new Set(names.filter((name) => name !== undefined)),
  ];
  const processors = differing([
    cooler.processor,
    ...[...coolers, ...ownCurves].map((model) => model?.processor),
  ]);
  const names = differing([cooler.cooler, ...coolers.map((own) => own.cooler)]);
  return [
    ...(processors.length < 2
      ? []
      : [
          `The loads' models name different processors, '${processors.join("', '")}': one cap serves loads of one processor; use runs of one for all.`,
        ]),
    ...(names.length < 2
      ? []
      : [
          `The loads' models name different coolers, '${names.join("', '")}': the hottest load under any of them sets the cap; compare coolers with shortlistCoolers instead.`,
        ]),
  ];
}

/** Numbers that may be meant in degrees Fahrenheit, and that the bounds let pass. */
function ofUnits({ limitC, ambientC }: SettledScenario): readonly string[] {
  const doubtful = [
    { what: 'a limit', valueC: limitC, fromC: DOUBTFUL_LIMIT_C },
    { what: 'room air', valueC: centreOf(ambientC), fromC: DOUBTFUL_ROOM_C },
  ];
  return doubtful
    .filter(({ valueC, fromC }) => valueC > fromC)
    .map(
      ({ what, valueC }) =>
        `Check the unit: ${what} of ${valueC} °C is unusually high; if it was meant in °F, give ${((valueC - 32) / 1.8).toFixed(1)} °C.`,
    );
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
          'Open bench: no enclosure is given. Enclosures commonly add 5 to 15 K to the intake air; give `enclosure: { riseK }` for the place where the machine will live.',
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
  const { defaultCapW, maxCapW = 0 } = scenario;
  if (defaultCapW === undefined || powerCapW <= defaultCapW) return [];
  const why = powerCapW > maxCapW ? '' : ', because `maxCapW` allows it';
  return [
    `The cap lies above the maker's default of ${defaultCapW} W${why}: board, supply and warranty may not allow it.`,
  ];
}

function ofHighestLogged(cooler: CoolerModel, curve: PowerCurve | undefined): readonly string[] {
  return [
    `The cap stops at the highest power logged, ${formatNumber(highestPowerLogged(cooler, curve))} W, since nothing says how high it may be. By temperature more may be possible: give the maker's default cap or the highest you allow (\`defaultCapW\` or \`maxCapW\`).`,
  ];
}

/** At an offset the curve carries cautions of its own, which are no more than warnings to it; here they come along. */
function ofVoltage(curve: PowerCurve | undefined, { voltageOffsetMv }: ChoiceToCaution): readonly string[] {
  if (voltageOffsetMv === undefined || voltageOffsetMv === 0 || curve === undefined) return [];
  return curve.findings
    .filter(({ code, severity }) => severity === 'warning' && /^(undervolt|offset)/.test(code))
    .map(({ message, remedy }) => `${message}${remedy === undefined ? '' : ` ${sentence(remedy)}`}`);
}

function ofSlowedRuns(curve: PowerCurve | undefined, { objective }: SettledScenario): readonly string[] {
  const slowed = curve?.slowedRuns ?? [];
  if (slowed.length === 0) return [];
  const { label, reportedMHz, effectiveMHz } = slowed[0];
  return [
    `Hidden slowdown: ${slowed.length === 1 ? `'${label}'` : `${slowed.length} runs, '${label}' among them,`} reports ${Math.round(reportedMHz)} MHz and works like ${Math.round(effectiveMHz)} MHz; ${objective === 'frequency' ? 'the frequencies here are the effective ones' : 'the answer goes by the work done'}.`,
  ];
}

function ofFan(
  { fan }: ChoiceToCaution,
  curve: FanCurve | undefined,
  { defaultCapW }: SettledScenario,
): readonly string[] {
  if (fan === undefined) return [];
  const outside =
    curve !== undefined && liesOutside(fan.speedRpm, curve.testedRange.fanSpeedRpm)
      ? [
          `Extrapolated: the fan curve was fitted from ${curve.testedRange.fanSpeedRpm.map(Math.round).join(' to ')} rpm, the answer is for ${Math.round(fan.speedRpm)} rpm; log a run at about this speed.`,
        ]
      : [];
  const slower =
    fan.slowestAtSameCapRpm < fan.speedRpm
      ? ` The same cap still holds from ${Math.round(fan.slowestAtSameCapRpm)} rpm on.`
      : '';
  return [
    ...outside,
    `The answer holds for a fan held at ${Math.round(fan.speedRpm)} rpm${defaultCapW === undefined ? '' : ', the cost for the same speed'}; an automatic fan may turn slower.${slower}`,
  ];
}

function ofShortTerm(cooler: CoolerModel, { shortTerm }: ChoiceToCaution): readonly string[] {
  if (shortTerm === undefined) return [];
  const outside = shortTerm.extrapolated
    ? [
        `Extrapolated: the short-term cap of ${shortTerm.powerCapW} W lies outside the ${rangeInWords(cooler.testedRange.powerW)} the cooler was logged at; log a short run at about this power.`,
      ]
    : [];
  return [
    ...outside,
    `The short-term cap holds for one stretch of ${shortTerm.windowS} s from the steady state of ${shortTerm.startPowerW} W or less; for stretches that repeat give their cycle as \`dutyCycle\`. Supply, voltage regulators and the processor's own limits may allow less: their makers' limits come first.`,
  ];
}

function ofTopFrequency(
  { topFrequencyMHz }: SettledScenario,
  { packagePowerW, powerCapW }: ChoiceToCaution,
): readonly string[] {
  if (topFrequencyMHz === undefined || packagePowerW > powerCapW * 0.99) return [];
  return [
    `The cap hardly binds: at its top frequency of ${topFrequencyMHz} MHz the processor draws about ${packagePowerW.toFixed(0)} W by itself, and its leakage follows the temperature; a warmer room or a dustier cooler raises both.`,
  ];
}

function ofPeaks(cooler: CoolerModel, { limitAppliesTo }: SettledScenario): readonly string[] {
  if (limitAppliesTo !== 'peak' || cooler.noise.peakAboveMeanK > 0) return [];
  return [
    `The limit is for peaks, but '${cooler.label}' comes from averages and knows none: the answer is that for the mean. Fit the cooler from whole logs.`,
  ];
}
