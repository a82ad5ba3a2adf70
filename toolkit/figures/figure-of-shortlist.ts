import type { CoolerShortlist, ShortlistEntry } from '../cap/shortlist/cooler-shortlist.js';
import { requireKind } from '../errors.js';
import { formatNumber } from '../numerics/format-estimate.js';
import type { Figure } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import { type Panel, panelFigure, roomAround } from './panels.js';
import { light } from './thinned.js';

const { ink, quiet, blue, red, paper } = lightPalette;
const longestName = 26;

/**
 * Which coolers suffice where: one row for each cooler, one mark for each place at the cap it allows there. Where there is
 * no cap above the lowest of use, an open mark stands at what power the limit would leave.
 *
 * Up to five places have a mark and a line of their own, named below the title. The bar spans the caps from the worst place to the best. The lowest cap of use and the default cap are drawn as lines.
 *
 * @param shortlist - what `shortlistCoolers` returned
 * @returns a figure with one row per cooler, the best on top; the cap in W along the bottom
 * @throws ArgumentError if it is no shortlist
 * @example
 * const flat = coolerFromSteadyPoints([{ powerW: 70, temperatureC: 71, ambientC: 22 }], { label: 'flat 41 mm' });
 * const loop = coolerFromSteadyPoints([{ powerW: 95, temperatureC: 58, ambientC: 22 }], { label: 'loop 140 mm' });
 * const list = shortlistCoolers([flat, loop], undefined, { limitC: 80, ambientC: 26, minCapW: 80, defaultCapW: 118 });
 * figureOfShortlist(list).layout.meta.title; // => 'Loop 140 mm suffices, flat 41 mm does not: 80 °C at 80 W or more'
 */
export function figureOfShortlist(shortlist: CoolerShortlist): Figure {
  requireKind(shortlist, 'cooler-shortlist', {
    caller: 'figureOfShortlist',
    argument: 'shortlist',
    remedy: 'make one with shortlistCoolers',
  });
  const { coolers, entries, places, scenario } = shortlist;
  // Rows are counted from the bottom, so the best comes last.
  const names = coolers.map(({ cooler }) => cooler).reverse();
  const rowOf = (entry: ShortlistEntry): number => names.indexOf(entry.cooler);
  const placed = entries.flatMap((entry) => {
    const powerW = powerOf(entry);
    return powerW === undefined ? [] : [{ entry, powerW, row: rowOf(entry) }];
  });
  const shapeOf = marksOf(places.length);
  const marked = placed.map(({ entry, powerW, row }) => {
    const mark = shapeOf[places.findIndex((place) => placeOf(place) === placeOf(entry))] ?? plainMark;
    return { entry, powerW, y: row + mark.rowShift, symbol: mark.symbol };
  });
  const holding = marked.filter(({ entry }) => entry.kind === 'cap');
  const failing = marked.filter(({ entry }) => entry.kind === 'no-cap');
  const { defaultCapW, minCapW } = scenario;
  const bars = names.flatMap((_, row) => {
    const powers = placed.filter((one) => one.row === row).map(({ powerW }) => powerW);
    return powers.length < 2 ? [] : [{ row, low: Math.min(...powers), high: Math.max(...powers) }];
  });
  const lines = [
    ...(minCapW === undefined ? [] : [{ x: minCapW, text: `lowest of use ${formatNumber(minCapW, 'W')}` }]),
    ...(defaultCapW === undefined
      ? []
      : [{ x: defaultCapW, text: `default ${formatNumber(defaultCapW, 'W')}` }]),
  ];
  const panel: Panel = {
    yTitle: '',
    weight: 1,
    range: [-0.6, names.length - 0.2],
    rows: names.map((name) => shortened(name, longestName)),
    traces: [
      {
        type: 'scatter',
        mode: 'lines',
        name: 'from the worst place to the best',
        x: bars.flatMap(({ low, high }) => [light(low), light(high), null]),
        y: bars.flatMap(({ row }) => [row, row, null]),
        line: { color: quiet, width: 1.6 },
        connectgaps: false,
        hoverinfo: 'skip',
      },
      {
        type: 'scatter',
        mode: 'markers',
        name: 'cap',
        x: holding.map(({ powerW }) => light(powerW)),
        y: holding.map(({ y }) => y),
        text: holding.map(({ entry }) => placeOf(entry)),
        marker: { color: blue, size: 9, symbol: holding.map(({ symbol }) => symbol) },
        hovertemplate: '%{x} W<br>%{text}<extra></extra>',
      },
      {
        type: 'scatter',
        mode: 'markers',
        name: 'no cap of use',
        x: failing.map(({ powerW }) => light(powerW)),
        y: failing.map(({ y }) => y),
        text: failing.map(({ entry }) => placeOf(entry)),
        marker: {
          color: paper,
          size: 9,
          symbol: failing.map(({ symbol }) => symbol),
          line: { color: red, width: 1.8 },
        },
        hovertemplate: 'no cap of use, %{x:.0f} W would hold<br>%{text}<extra></extra>',
      },
    ],
    endLabels: names.map((name, row) => ({ text: verdictInWords(shortlist, name), y: row, color: ink })),
    shapes: lines.map(({ x }) => ({
      type: 'line' as const,
      x0: x,
      x1: x,
      wholeHeight: true as const,
      layer: 'below' as const,
      line: { color: quiet, width: 1.4, dash: 'dash' },
    })),
    labels: lines.map(({ x, text }, i) => ({
      text,
      x,
      y: names.length - 0.2,
      color: quiet,
      xanchor: i === 0 && lines.length === 2 ? ('left' as const) : ('right' as const),
      yanchor: 'top' as const,
      xshift: i === 0 && lines.length === 2 ? 5 : -5,
    })),
  };
  return panelFigure({
    title: titleOf(shortlist),
    subtitle: `${formatNumber(scenario.confidence * 100)} % confidence${placesInWords(places.map(placeOf))}${failing.length > 0 ? ' Open: too little power for the lowest cap of use.' : ''}`,
    description: shortlist.summary,
    xTitle: 'Power cap, W',
    xRange: roomAround([...placed.map(({ powerW }) => powerW), ...lines.map(({ x }) => x)], 10, 0.09),
    heightPx: 60 + (places.length > 2 ? 56 : 46) * names.length,
    panels: [panel],
    hovermode: 'closest',
  });
}

/** Where a mark stands: the cap, or the power that the limit would leave; none where no power is left or known. */
function powerOf(entry: ShortlistEntry): number | undefined {
  if (entry.kind === 'cap') return entry.powerCapW;
  if (entry.kind === 'not-known' || entry.shortByW === undefined) return undefined;
  return entry.lowestCapW - entry.shortByW;
}

/** How one place is marked: its shape, as drawn and as written, and how far above the middle of the row it stands. */
interface PlaceMark {
  readonly symbol: string;
  readonly written: string;
  readonly rowShift: number;
}

const plainMark: PlaceMark = { symbol: 'circle', written: '●', rowShift: 0 };
const placeSymbols: readonly Omit<PlaceMark, 'rowShift'>[] = [
  plainMark,
  { symbol: 'square', written: '■' },
  { symbol: 'diamond', written: '◆' },
  { symbol: 'triangle-up', written: '▲' },
  { symbol: 'triangle-down', written: '▼' },
];
/** Share of a row's height that its marks spread over. */
const rowSpread = 0.56;

/** A mark for each place, the first on top; none where there are too many to tell apart. */
function marksOf(placeCount: number): readonly PlaceMark[] {
  if (placeCount < 2 || placeCount > placeSymbols.length) return [];
  return placeSymbols
    .slice(0, placeCount)
    .map((mark, i) => ({ ...mark, rowShift: rowSpread * (0.5 - i / (placeCount - 1)) }));
}

function placesInWords(names: readonly string[]): string {
  if (names.length === 1) return names[0] === '' ? '.' : `, ${names[0]}.`;
  const marks = marksOf(names.length);
  if (marks.length === 0) return `. One mark for each of ${names.length} places.`;
  return `. ${names.map((name, i) => `${marks[i].written} ${name}`).join('; ')}.`;
}

function placeOf({ enclosure, room }: { readonly enclosure: string; readonly room: string }): string {
  return room === '' ? enclosure : `${enclosure}, ${room}`;
}

function verdictInWords({ coolers }: CoolerShortlist, name: string): string {
  const { suffices, lowestCapW, highestCapW, sufficientCount, placeCount } = coolers.find(
    ({ cooler }) => cooler === name,
  )!;
  if (lowestCapW === undefined) return suffices === 'not-known' ? 'not known' : 'at no cap of use';
  const caps =
    lowestCapW === highestCapW
      ? formatNumber(lowestCapW, 'W')
      : `${formatNumber(lowestCapW)} to ${formatNumber(highestCapW!, 'W')}`;
  return suffices === 'everywhere' ? caps : `${caps} in ${sufficientCount} of ${placeCount}`;
}

function titleOf({ coolers, scenario, places }: CoolerShortlist): string {
  const able = coolers.filter(({ suffices }) => suffices === 'everywhere');
  const { limitC, minCapW } = scenario;
  const what = `${formatNumber(limitC, '°C')} at ${minCapW === undefined ? 'some cap' : `${formatNumber(minCapW, 'W')} or more`}`;
  const where =
    places.length === 1 ? '' : places.length === 2 ? ' in both places' : ` in all ${places.length} places`;
  if (able.length === 0) return `No cooler holds ${what}${where}`;
  if (able.length === coolers.length && coolers.length > 1)
    return `All ${coolers.length} coolers hold ${what}${where}`;
  if (able.length === 1) {
    const other = coolers.length === 2 ? `, ${shortened(coolers[1].cooler)} does not` : '';
    return `${shortened(able[0].cooler)} ${coolers.length > 2 ? 'alone ' : ''}suffices${where}${other}: ${what}`;
  }
  return `${able.length} of ${coolers.length} coolers hold ${what}${where}`;
}
