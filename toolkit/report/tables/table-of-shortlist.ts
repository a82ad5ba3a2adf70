import type { CoolerShortlist, ShortlistEntry } from '../../cap/shortlist/cooler-shortlist.js';
import { chancePercent } from './chance-percent.js';
import { plusMinusNote, type Table, type TableCell } from './table.js';

/**
 * Every cooler in every place: its cap, or by how much there is none above the lowest of use; the best cooler first.
 *
 * @param shortlist - what `shortlistCoolers` returned
 * @returns a table with one row for each cooler and place
 * @example
 * const flat = coolerFromSteadyPoints([{ powerW: 70, temperatureC: 71, ambientC: 22 }], { label: 'flat 41 mm' });
 * const list = shortlistCoolers([flat], undefined, { limitC: 80, ambientC: 26, minCapW: 60, defaultCapW: 118 });
 * tableOfShortlist(list).rows[0][0]; // => 'flat 41 mm'
 */
export function tableOfShortlist(shortlist: CoolerShortlist): Table {
  const { entries, places, scenario } = shortlist;
  const caps = entries.flatMap((entry) => (entry.kind === 'cap' ? [entry] : []));
  const lowestCapW = scenario.minCapW ?? scenario.stepW;
  const withRoom = places.some(({ room }) => room !== '');
  const withFrequency = caps.some(({ frequencyMHz }) => frequencyMHz.kind === 'estimated');
  const withThroughput = caps.some(({ throughputPerS }) => throughputPerS.kind === 'estimated');
  return {
    kind: 'table',
    title: 'Which coolers suffice where',
    columns: [
      { name: 'Cooler' },
      { name: 'Enclosure' },
      ...(withRoom ? [{ name: 'Room' }] : []),
      { name: 'Power cap', unit: 'W' },
      { name: 'Steady temperature', unit: '°C' },
      ...(withFrequency ? [{ name: 'Frequency', unit: 'MHz' }] : []),
      ...(withThroughput ? [{ name: 'Throughput', unit: '1/s' }] : []),
      { name: `Chance that ${lowestCapW} W holds`, unit: '%' },
      { name: 'Remark' },
    ],
    rows: entries.map((entry): readonly TableCell[] => [
      entry.cooler,
      entry.enclosure,
      ...(withRoom ? [entry.room] : []),
      entry.kind === 'cap' ? entry.powerCapW : entry.kind === 'no-cap' ? 'none' : 'not known',
      entry.kind === 'cap' ? entry.steadyTemperatureC : null,
      ...(withFrequency ? [entry.kind === 'cap' ? entry.frequencyMHz : null] : []),
      ...(withThroughput ? [entry.kind === 'cap' ? entry.throughputPerS : null] : []),
      entry.kind === 'not-known' ? null : chancePercent(entry.chanceOfSufficing),
      remarkOf(entry),
    ]),
    notes: [plusMinusNote, `Lowest cap of use: ${lowestCapW} W; limit ${scenario.limitC} °C.`],
  };
}

function remarkOf(entry: ShortlistEntry): string {
  if (entry.kind === 'not-known') return entry.reason;
  if (entry.kind === 'no-cap')
    return entry.excessK > 0
      ? `${entry.excessK.toFixed(1)} K too warm at ${entry.lowestCapW} W${entry.shortByW === undefined ? '' : `, ${entry.shortByW.toFixed(1)} W short`}`
      : entry.reason;
  const held: Readonly<Partial<Record<typeof entry.bindingConstraint, string>>> = {
    'default-cap': 'default cap',
    'max-cap': 'highest cap allowed',
    'tested-range': 'highest power logged',
    supply: 'held by the supply',
  };
  return [
    held[entry.bindingConstraint] ?? '',
    entry.provisional ? 'provisional' : entry.extrapolated ? 'extrapolated' : '',
  ]
    .filter((part) => part !== '')
    .join(', ');
}
