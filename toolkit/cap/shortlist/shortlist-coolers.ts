import { ArgumentError, type KnownNames, NumericalError, requireKnownNames } from '../../errors.js';
import type { EstimatedNumber } from '../../numerics/estimate.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { orderStatistic } from '../../numerics/order-statistic.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import type { MeasuredEnclosure } from '../../thermal/enclosure-between.js';
import { requireModel } from '../../thermal/require-model.js';
import { requireModels } from '../choose/choose-cap.js';
import { limitRank } from '../draws/limit-cap.js';
import { spreadOf } from '../draws/temperature-against-cap.js';
import type { CapScenario, EnclosureOfScenario, UncertainInput } from '../scenario/cap-scenario.js';
import { bestSetting } from '../setting/best-setting.js';
import { areOfDifferentProcessors, liesFarOutside, liesOutside, requireReach } from '../setting/cap-reach.js';
import { settableSpeeds } from '../setting/fan-response.js';
import { type PreparedCap, prepareCap } from '../setting/prepared-cap.js';
import { requireBelowRunaway } from '../setting/runaway.js';
import { estimatesAt } from '../setting/setting-estimates.js';
import type { CoolerShortlist, CoolerVerdict, ShortlistEntry, ShortlistPlace } from './cooler-shortlist.js';

/** Places beside the one of the scenario. */
export interface ShortlistOptions {
  /** Enclosures to try; without `enclosure` the open bench. Default: that of the scenario. */
  readonly enclosures?: readonly {
    readonly label: string;
    readonly enclosure?: EnclosureOfScenario | MeasuredEnclosure;
  }[];
  /** Rooms to try. Default: that of the scenario. */
  readonly rooms?: readonly { readonly label: string; readonly ambientC: UncertainInput }[];
}

const OPTION_NAMES: KnownNames<ShortlistOptions> = { enclosures: true, rooms: true };
const ENCLOSURE_NAMES = { label: true, enclosure: true };
const ROOM_NAMES = { label: true, ambientC: true };

/**
 * Which coolers suffice: every cooler in every enclosure and every room, each with its cap, or with why there is none
 * above the lowest of use and by how much it fails.
 *
 * Each cell is a question to `chooseCap`, with the same draws for all, so that two coolers are compared on the same rooms.
 * Coolers are ordered by the number of places they suffice in, then by their lowest cap over the places, then by their
 * highest. A cooler suffices in a place where some cap from `minCapW` up satisfies all constraints; give `minCapW` the
 * power below which the machine is of no use.
 *
 * @param coolers - fitted coolers, one or more
 * @param curve - the power curve of the processor, or `undefined` where no log holds a frequency
 * @param scenario - as for `chooseCap`; its enclosure and room are the place where no others are given
 * @param options - `enclosures`, `rooms`
 * @returns entries in W and degrees Celsius, the best cooler first, with a sentence that says which suffice
 * @throws ArgumentError naming the argument at fault
 * @example
 * const flat = coolerFromSteadyPoints([{ powerW: 70, temperatureC: 71, ambientC: 22 }], { label: 'flat 41 mm' });
 * const loop = coolerFromSteadyPoints([{ powerW: 95, temperatureC: 58, ambientC: 22 }], { label: 'loop 140 mm' });
 * const list = shortlistCoolers([flat, loop], undefined, { limitC: 80, ambientC: 26, minCapW: 80, defaultCapW: 118 });
 * list.coolers.map(({ cooler, suffices }) => [cooler, suffices]);
 * // => [['loop 140 mm', 'everywhere'], ['flat 41 mm', 'nowhere']]
 */
export function shortlistCoolers(
  coolers: readonly CoolerModel[],
  curve: PowerCurve | undefined,
  scenario: CapScenario,
  options: ShortlistOptions = {},
): CoolerShortlist {
  const caller = 'shortlistCoolers';
  requireCoolerList(coolers, curve, caller);
  const settings = placesOf(scenario, options, caller);
  const labels = distinctLabels(coolers);
  let first: PreparedCap | undefined;
  const rows = coolers.map((cooler, c) => {
    const entries = settings.map(({ place, scenario: here }): ShortlistEntry => {
      const at = { cooler: labels[c], ...place };
      try {
        const prepared = prepareCap(cooler, curve, here, caller);
        first ??= prepared;
        return { ...at, ...answerOf(prepared) };
      } catch (failure) {
        if (!(failure instanceof NumericalError)) throw failure;
        return { ...at, kind: 'not-known', reason: withoutCaller(failure.message, caller) };
      }
    });
    return { cooler, entries, verdict: verdictOf(labels[c], entries) };
  });
  if (first === undefined)
    throw new NumericalError(
      `${caller}: no cooler carries a cap in any place; the first: ${reasonOf(rows[0].entries[0])}`,
    );
  rows.sort((a, b) => byVerdict(a.verdict, b.verdict));
  const verdicts = rows.map(({ verdict }) => verdict);
  const entries = rows.flatMap((row) => row.entries);
  const places = settings.map(({ place }) => place);
  return {
    kind: 'cooler-shortlist',
    coolers: verdicts,
    entries,
    places,
    summary: summaryOf(verdicts, entries, places, first),
    cautions: cautionsOf(coolers, curve, entries, scenario, options),
    scenario: first.scenario,
  };
}

type Answer<Kind> = Kind extends ShortlistEntry ? Omit<Kind, keyof ShortlistPlace | 'cooler'> : never;

/** The cap in one place, or by how much there is none. */
function answerOf(prepared: PreparedCap): Answer<ShortlistEntry> {
  const { cooler, curve, scenario, floorW, caller } = prepared;
  const fastest = scenario.fan === undefined ? undefined : settableSpeeds(scenario.fan).at(-1);
  const atFastest = prepared.thermalAt(fastest);
  const { binding, limitCapW } = atFastest;
  const chanceOfSufficing = 1 - atFastest.chanceOfPassing(floorW);
  let best: ReturnType<typeof bestSetting>;
  try {
    best = bestSetting(prepared);
  } catch (failure) {
    if (!(failure instanceof NumericalError)) throw failure;
    const temperaturesC = new Float64Array(binding.count);
    binding.temperaturesAt(floorW, temperaturesC);
    const rank = binding.count - 1 - limitRank(binding.count, scenario.confidence);
    return {
      kind: 'no-cap',
      lowestCapW: floorW,
      ...(limitCapW > 0 ? { shortByW: Math.max(0, floorW - limitCapW) } : {}),
      excessK: Math.max(0, orderStatistic(temperaturesC, rank) - prepared.meanLimitC),
      chanceOfSufficing,
      reason: withoutCaller(failure.message, caller),
    };
  }
  const { setting, bindingConstraint } = best;
  const { powerCapW } = setting;
  requireReach(cooler, powerCapW, caller);
  requireBelowRunaway(prepared, setting);
  const thermal = prepared.thermalAt(setting.fanSpeedRpm);
  const temperaturesC = new Float64Array(thermal.binding.count);
  thermal.binding.temperaturesAt(powerCapW, temperaturesC);
  const spread = spreadOf(temperaturesC, thermal.binding.count, scenario.confidence);
  const outside = liesOutside(powerCapW, cooler.testedRange.powerW);
  const steadyTemperatureC: EstimatedNumber = {
    kind: 'estimated',
    value: spread.meanC,
    standardError: spread.standardDeviationK,
    interval95: [spread.lowC, spread.highC],
    extrapolated: outside,
  };
  const { frequencyMHz, throughputPerS } = estimatesAt(prepared, setting);
  return {
    kind: 'cap',
    powerCapW,
    setting,
    bindingConstraint,
    steadyTemperatureC,
    frequencyMHz,
    throughputPerS,
    chanceOfSufficing,
    extrapolated: outside || (curve !== undefined && liesOutside(powerCapW, curve.testedRange.powerW)),
    provisional:
      liesFarOutside(powerCapW, cooler.testedRange.powerW) ||
      !cooler.termination.converged ||
      cooler.findings.some(({ severity }) => severity === 'serious'),
  };
}

function placesOf(
  scenario: CapScenario,
  options: ShortlistOptions,
  caller: string,
): readonly { readonly place: ShortlistPlace; readonly scenario: CapScenario }[] {
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const enclosures = options.enclosures ?? [
    {
      label: scenario?.enclosure === undefined ? 'open bench' : 'the enclosure given',
      ...(scenario?.enclosure === undefined ? {} : { enclosure: scenario.enclosure }),
    },
  ];
  const rooms = options.rooms ?? [{ label: '', ambientC: scenario?.ambientC }];
  requirePlaces(enclosures, ENCLOSURE_NAMES, 'options.enclosures', caller);
  requirePlaces(rooms, ROOM_NAMES, 'options.rooms', caller, options.rooms === undefined);
  if (typeof scenario !== 'object' || scenario === null)
    return [{ place: { enclosure: '', room: '' }, scenario }]; // refused by name when it is settled
  const { enclosure: _, ...open } = scenario;
  return enclosures.flatMap(({ label, enclosure }) =>
    rooms.map((room) => ({
      place: { enclosure: label, room: room.label },
      scenario: {
        ...open,
        ambientC: room.ambientC,
        ...(enclosure === undefined ? {} : { enclosure }),
      },
    })),
  );
}

function requirePlaces(
  list: unknown,
  names: object,
  argument: string,
  caller: string,
  mayBeUnnamed = false,
): void {
  if (!Array.isArray(list) || list.length === 0)
    throw new ArgumentError({ caller, argument, expected: 'a list with at least one place', received: list });
  const seen = new Set<string>();
  list.forEach((place: unknown, i) => {
    requireKnownNames(place, names, { caller, argument: `${argument}[${i}]` });
    const { label } = place as { readonly label?: unknown };
    if (typeof label !== 'string' || (label === '' && !mayBeUnnamed) || seen.has(label))
      throw new ArgumentError({
        caller,
        argument: `${argument}[${i}].label`,
        expected: 'a name of its own',
        received: label,
      });
    seen.add(label);
  });
}

function requireCoolerList(coolers: unknown, curve: PowerCurve | undefined, caller: string): void {
  if (!Array.isArray(coolers) || coolers.length === 0)
    throw new ArgumentError({
      caller,
      argument: 'coolers',
      expected: 'an array of at least one cooler model',
      received: coolers,
      remedy: 'make them with fitCooler, one for each group of groupRuns(runs)',
    });
  coolers.forEach((cooler: unknown, i) => {
    requireModel(cooler, caller, `coolers[${i}]`);
  });
  requireModels(coolers[0] as CoolerModel, curve, caller);
}

/** Names as the models carry them, numbered where two are the same. */
function distinctLabels(coolers: readonly CoolerModel[]): readonly string[] {
  const plain = coolers.map(({ cooler, label }) => cooler ?? label);
  const own = plain.map((name, i) =>
    plain.indexOf(name) === plain.lastIndexOf(name) ? name : coolers[i].label,
  );
  return own.map((name, i) =>
    own.indexOf(name) === own.lastIndexOf(name)
      ? name
      : `${name} (${own.slice(0, i + 1).filter((other) => other === name).length})`,
  );
}

function verdictOf(cooler: string, entries: readonly ShortlistEntry[]): CoolerVerdict {
  const caps = entries.flatMap((entry) => (entry.kind === 'cap' ? [entry.powerCapW] : []));
  const unknown = entries.some(({ kind }) => kind === 'not-known');
  return {
    cooler,
    suffices:
      caps.length === entries.length
        ? 'everywhere'
        : unknown
          ? 'not-known'
          : caps.length > 0
            ? 'somewhere'
            : 'nowhere',
    ...(caps.length === 0 ? {} : { lowestCapW: Math.min(...caps), highestCapW: Math.max(...caps) }),
    placeCount: entries.length,
    sufficientCount: caps.length,
  };
}

function byVerdict(a: CoolerVerdict, b: CoolerVerdict): number {
  return (
    b.sufficientCount - a.sufficientCount ||
    (b.lowestCapW ?? 0) - (a.lowestCapW ?? 0) ||
    (b.highestCapW ?? 0) - (a.highestCapW ?? 0)
  );
}

function summaryOf(
  verdicts: readonly CoolerVerdict[],
  entries: readonly ShortlistEntry[],
  places: readonly ShortlistPlace[],
  { scenario, floorW }: PreparedCap,
): string {
  const everywhere = verdicts.filter(({ suffices }) => suffices === 'everywhere');
  const where = places.length === 1 ? '' : ` in all ${places.length} places`;
  const limit = `${formatNumber(scenario.limitC, '°C')} at a cap of ${formatNumber(floorW, 'W')} or more`;
  const who =
    verdicts.length === 1
      ? 'The cooler'
      : everywhere.length === verdicts.length
        ? `All ${verdicts.length} coolers`
        : `${everywhere.length} of ${verdicts.length} coolers`;
  const head =
    everywhere.length === 0
      ? `No cooler holds ${limit}${where}.`
      : `${who} ${everywhere.length === 1 ? 'holds' : 'hold'} ${limit}${where}: ${everywhere.map(withCaps).join(', ')}.`;
  const rest = verdicts
    .filter(({ suffices }) => suffices !== 'everywhere')
    .map((verdict) => shortfallOf(verdict, entries));
  return [head, ...rest].join(' ');
}

function withCaps({ cooler, lowestCapW, highestCapW }: CoolerVerdict): string {
  const caps =
    lowestCapW === highestCapW
      ? formatNumber(lowestCapW!, 'W')
      : `${formatNumber(lowestCapW!)} to ${formatNumber(highestCapW!, 'W')}`;
  return `'${cooler}' (${caps})`;
}

/** Where a cooler fails worst, and by how much. */
function shortfallOf(verdict: CoolerVerdict, entries: readonly ShortlistEntry[]): string {
  const own = entries.filter(({ cooler }) => cooler === verdict.cooler);
  const unknown = own.find((entry) => entry.kind === 'not-known');
  if (unknown?.kind === 'not-known')
    return `'${verdict.cooler}' cannot be judged everywhere: ${unknown.reason}.`;
  const failing = own.filter((entry) => entry.kind === 'no-cap');
  const worst = failing.reduce((most, entry) => (entry.excessK > most.excessK ? entry : most));
  const place = own.length === 1 ? '' : ` ${placeInWords(worst)}`;
  const by =
    worst.excessK > 0
      ? `${worst.excessK.toFixed(1)} K too warm at ${formatNumber(worst.lowestCapW, 'W')}${worst.shortByW === undefined ? '' : `, ${worst.shortByW.toFixed(0)} W short`}`
      : worst.reason;
  const count =
    verdict.sufficientCount === 0
      ? 'does not'
      : `does in ${verdict.sufficientCount} of ${verdict.placeCount} places`;
  return `'${verdict.cooler}' ${count}:${own.length === 1 ? '' : ` worst${place},`} ${by}.`;
}

/** A place as a phrase: `in the drawer, summer`. */
function placeInWords({ enclosure, room }: ShortlistPlace): string {
  const where = /^open bench$/i.test(enclosure) ? 'on the open bench' : `in ${enclosure}`;
  return room === '' ? where : `${where}, ${room}`;
}

function reasonOf(entry: ShortlistEntry): string {
  return entry.kind === 'cap' ? '' : entry.reason;
}

function withoutCaller(message: string, caller: string): string {
  return message.startsWith(`${caller}: `) ? message.slice(caller.length + 2) : message;
}

function cautionsOf(
  coolers: readonly CoolerModel[],
  curve: PowerCurve | undefined,
  entries: readonly ShortlistEntry[],
  scenario: CapScenario,
  options: ShortlistOptions,
): readonly string[] {
  const provisional = named(entries.filter((entry) => entry.kind === 'cap' && entry.provisional));
  const extrapolated = named(
    entries.filter((entry) => entry.kind === 'cap' && entry.extrapolated && !entry.provisional),
  );
  const foreign =
    curve === undefined ? [] : coolers.filter((cooler) => areOfDifferentProcessors(cooler, curve));
  const openOnly = options.enclosures === undefined && scenario.enclosure === undefined;
  const oneMount = coolers.filter(({ findings }) => !findings.some(({ code }) => code === 'several-mounts'));
  return [
    ...(provisional === ''
      ? []
      : [
          `Provisional: ${provisional}, whose data carry a serious finding or whose cap lies far outside the powers logged; see what chooseCap says of each.`,
        ]),
    ...(extrapolated === ''
      ? []
      : [
          `Extrapolated: ${extrapolated}, whose cap lies outside the powers logged; log a run at about that cap.`,
        ]),
    ...(foreign.length === 0
      ? []
      : [
          `Another processor than that of the power curve: ${foreign.map(({ label }) => `'${label}'`).join(', ')}; use runs of one processor for all.`,
        ]),
    ...(openOnly
      ? ['Open bench: no enclosure is given. An enclosure commonly adds 5 to 15 K to the intake air.']
      : []),
    ...(oneMount.length < 2
      ? []
      : [
          'Coolers logged with one mount may change places with the next one: see compareCoolers for which can be told apart.',
        ]),
    ...(scenario?.minCapW === undefined
      ? ['No lowest cap of use is given, so a cooler counts as sufficient at any cap: give minCapW.']
      : []),
    "Stay within the makers' limits for temperature, power and voltage: they come before this answer. A cap is a setting, not a protection.",
  ];
}

function named(entries: readonly ShortlistEntry[]): string {
  return [...new Set(entries.map(({ cooler }) => `'${cooler}'`))].join(', ');
}
