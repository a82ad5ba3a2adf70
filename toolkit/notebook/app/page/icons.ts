/** Our own small icons, drawn as strokes in a box of 16. */
const paths = {
  run: 'M5 3.2v9.6l7.5-4.8z',
  runAll: 'M3 3.2v9.6l5-4.8zM8.5 3.2v9.6l5-4.8z',
  interrupt: 'M4.5 4.5h7v7h-7z',
  restart: 'M12.8 8a4.8 4.8 0 1 1-1.6-3.6M13 2v3.2H9.8',
  add: 'M8 3v10M3 8h10',
  find: 'M7 11.5a4.5 4.5 0 1 0 0-9 4.5 4.5 0 0 0 0 9zM10.5 10.5L14 14',
  save: 'M8 2.5v7M5 7l3 3 3-3M3 13h10',
  undo: 'M6 3.5L3 6.5l3 3M3.2 6.5H10a3.3 3.3 0 0 1 0 6.6H6.5',
  sun: 'M8 5a3 3 0 1 0 0 6 3 3 0 0 0 0-6zM8 1.5v1.6M8 12.9v1.6M1.5 8h1.6M12.9 8h1.6M3.4 3.4l1.1 1.1M11.5 11.5l1.1 1.1M3.4 12.6l1.1-1.1M11.5 4.5l1.1-1.1',
  moon: 'M13 9.6A5.6 5.6 0 0 1 6.4 3 5.6 5.6 0 1 0 13 9.6z',
  side: 'M2.5 3h11v10h-11zM6.5 3v10',
  keys: 'M1.5 4h13v8h-13zM4 6.5h.01M7 6.5h.01M10 6.5h.01M5 9.5h6',
} as const;

/** Name of an icon. */
export type IconName = keyof typeof paths;

const filled: ReadonlySet<IconName> = new Set(['run', 'runAll', 'interrupt']);
const namespace = 'http://www.w3.org/2000/svg';

/** The icon as an element that takes the colour of the text around it. */
export function icon(name: IconName): SVGSVGElement {
  const svg = document.createElementNS(namespace, 'svg');
  svg.setAttribute('viewBox', '0 0 16 16');
  svg.setAttribute('class', 'kpw-Icon');
  svg.setAttribute('aria-hidden', 'true');
  const path = document.createElementNS(namespace, 'path');
  path.setAttribute('d', paths[name]);
  path.setAttribute('fill', filled.has(name) ? 'currentColor' : 'none');
  path.setAttribute('stroke', 'currentColor');
  path.setAttribute('stroke-width', '1.4');
  path.setAttribute('stroke-linecap', 'round');
  path.setAttribute('stroke-linejoin', 'round');
  svg.append(path);
  return svg;
}
