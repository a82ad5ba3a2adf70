/**
 * Shows HTML in a place, again and again, and touches only what differs from what stands there: a picture of which one line has
 * moved is not read, laid out and painted as a whole, and a screen reader hears of what has changed alone.
 *
 * The HTML has an element a line, or the opening or the closing tag of one. Where nothing but whole elements has changed, only
 * these are read.
 *
 * @param finish - what a line becomes before it is read
 * @returns shows the next HTML
 */
export function showIn(
  place: Element,
  finish: (line: string) => string = (line) => line,
): (html: string) => void {
  let shown: readonly string[] = [];
  let elements: readonly Element[] | undefined;
  return (html) => {
    const lines = html.split('\n').filter((line) => line !== '');
    const changed = elements && changedElements(shown, lines);
    if (elements === undefined || changed === undefined) {
      becomeChildren(place, read(lines.map(finish).join('\n')));
      elements = elementsOf(place, lines);
    } else
      for (const index of changed) becomeLine(elements[index], finish(shown[index]), finish(lines[index]));
    shown = lines;
  };
}

/** The lines that differ, where all of them are whole elements and the same ones as before. */
function changedElements(before: readonly string[], after: readonly string[]): number[] | undefined {
  if (before.length !== after.length) return undefined;
  const changed: number[] = [];
  for (let i = 0; i < after.length; i++) {
    if (before[i] === after[i]) continue;
    const isSame = isWhole(before[i]) && isWhole(after[i]) && tagOf(before[i]) === tagOf(after[i]);
    if (!isSame) return undefined;
    changed.push(i);
  }
  return changed;
}

/** The element that each line is, opens or closes; `undefined` where something else stands in the place. */
function elementsOf(place: Element, lines: readonly string[]): readonly Element[] | undefined {
  const elements: Element[] = [];
  const open: Element[] = [];
  let next = place.firstElementChild;
  for (const line of lines) {
    const isEnd = line.startsWith('</');
    const element: Element | null | undefined = isEnd ? open.pop() : next;
    if (element == null || element.localName !== tagOf(line) || (isEnd && next !== null)) return undefined;
    elements.push(element);
    if (isEnd || isWhole(line)) next = element.nextElementSibling;
    else {
      open.push(element);
      next = element.firstElementChild;
    }
  }
  return open.length === 0 && next === null ? elements : undefined;
}

function isWhole(line: string): boolean {
  return line.endsWith('/>') || line.indexOf('</') > 0;
}

function tagOf(line: string): string | undefined {
  return /^<\/?(\w+)/.exec(line)?.[1];
}

/** A whole element of attributes and plain text, without escaped characters. */
const PLAIN = /^<\w+((?: [\w-]+="[^"&]*")*)\/?>(?:([^<&]*)<\/\w+>)?$/;
const ATTRIBUTES = / ([\w-]+)="([^"]*)"/g;

/** Turns an element from what one line says into what another of the same kind says. */
function becomeLine(element: Element, before: string, after: string): void {
  const [old, next] = [PLAIN.exec(before), PLAIN.exec(after)];
  const [oldAttributes, attributes] = [old, next].map((found) => [
    ...(found?.[1] ?? '').matchAll(ATTRIBUTES),
  ]);
  const isPlain =
    old !== null &&
    next !== null &&
    oldAttributes.length === attributes.length &&
    attributes.every(([, name], k) => name === oldAttributes[k][1]);
  if (!isPlain) {
    become(element, read(after, element instanceof SVGElement).firstElementChild!);
    return;
  }
  // Nothing needs to be read: several times as fast, and pictures move many such elements at once.
  attributes.forEach(([, name, value], k) => {
    if (value !== oldAttributes[k][2]) element.setAttribute(name, value);
  });
  if (next[2] === old[2]) return;
  if (element.firstChild === null) element.textContent = next[2];
  else element.firstChild.nodeValue = next[2];
}

/** Elements that stand nowhere yet; those of a drawing are its elements only inside one. */
function read(html: string, isDrawn: boolean = false): Element | DocumentFragment {
  const template = document.createElement('template');
  template.innerHTML = isDrawn ? `<svg>${html}</svg>` : html;
  return isDrawn ? template.content.firstElementChild! : template.content;
}

function becomeChildren(shown: Node, wanted: Node): void {
  const before = [...shown.childNodes];
  const after = [...wanted.childNodes];
  after.forEach((node, place) => {
    const old = before[place];
    if (old === undefined) shown.appendChild(node);
    else if (old.nodeName === node.nodeName) become(old, node);
    else shown.replaceChild(node, old);
  });
  for (const gone of before.slice(after.length)) gone.remove();
}

function become(shown: Node, wanted: Node): void {
  if (shown.isEqualNode(wanted)) return;
  if (shown instanceof Element && wanted instanceof Element) {
    for (const { name, value } of wanted.attributes)
      if (shown.getAttribute(name) !== value) shown.setAttribute(name, value);
    for (const { name } of [...shown.attributes]) if (!wanted.hasAttribute(name)) shown.removeAttribute(name);
    becomeChildren(shown, wanted);
  } else if (shown.nodeValue !== wanted.nodeValue) shown.nodeValue = wanted.nodeValue;
}
