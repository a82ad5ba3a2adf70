/**
 * Shows HTML in a place, again and again, and touches only what differs from what stands there: a picture of which one line has
 * moved is not read, laid out and painted as a whole, and a screen reader hears of what has changed alone.
 *
 * The HTML has an element a line, or the opening or the closing tag of one.
 *
 * @param finish - what a line becomes before it is read
 * @returns shows the next HTML
 */
export function showIn(
  place: Element,
  finish: (line: string) => string = (line) => line,
): (html: string) => void {
  let shown: Shown | undefined;
  return (html) => {
    const lines = html.split('\n').filter((line) => line !== '');
    const elements = shown && followed(place, shown, lines, finish);
    if (elements === undefined) becomeChildren(place, readHtml(lines.map(finish).join('')));
    const found = elements ?? elementsOf(place, lines);
    shown = found && { lines, elements: found };
  };
}

/** What stands in a place, line by line. */
interface Shown {
  readonly lines: readonly string[];
  /** What each line is, opens or closes. */
  readonly elements: readonly Element[];
}

/**
 * Makes what is shown follow other lines, as long as nothing but whole elements has changed, come or gone.
 *
 * @returns their elements; `undefined` where more has changed, and what is shown is to be compared as a whole
 */
function followed(
  place: Element,
  shown: Shown,
  lines: readonly string[],
  finish: (line: string) => string,
): readonly Element[] | undefined {
  const elements: Element[] = [];
  let old = 0;
  const oldLeft = (): number => shown.lines.length - old;
  for (const [at, line] of lines.entries()) {
    // Where there are more than shall be, those that fit nothing go; where there are fewer, others come.
    while (oldLeft() > lines.length - at && !isAlike(shown.lines[old], line)) {
      if (!isWhole(shown.lines[old])) return undefined;
      shown.elements[old++].remove();
    }
    if (oldLeft() > 0 && isAlike(shown.lines[old], line)) {
      const element = shown.elements[old];
      if (shown.lines[old] !== line) become(element, finish(shown.lines[old]), finish(line));
      elements.push(element);
      old++;
    } else if (isWhole(line)) {
      const isEnd = oldLeft() > 0 && shown.lines[old].startsWith('</');
      const next = isEnd ? null : (shown.elements[old] ?? null);
      const parent = isEnd ? shown.elements[old] : (next?.parentElement ?? place);
      elements.push(parent.insertBefore(readElement(finish(line), parent), next));
    } else return undefined;
  }
  for (; oldLeft() > 0; old++) {
    if (!isWhole(shown.lines[old])) return undefined;
    shown.elements[old].remove();
  }
  return elements;
}

/** Whether two lines may be one element that has changed, or one tag that has not. */
function isAlike(a: string, b: string): boolean {
  return a === b || (isWhole(a) && isWhole(b) && tagOf(a) === tagOf(b));
}

function isWhole(line: string): boolean {
  return line.endsWith('/>') || line.indexOf('</') > 0;
}

function tagOf(line: string): string | undefined {
  return /^<\/?(\w+)/.exec(line)?.[1];
}

/** The element of each line; `undefined` where something else stands in the place. */
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

/** Turns an element from what one line says into what another of its kind says. */
function become(element: Element, before: string, after: string): void {
  const [old, next] = [plainOf(before), plainOf(after)];
  if (old === undefined || next === undefined || old.names !== next.names) {
    becomeNode(element, readElement(after, element.parentElement!));
    return;
  }
  // Nothing needs to be read: several times as fast, and a picture moves many such elements at once.
  next.attributes.forEach(([, name, value], k) => {
    if (value !== old.attributes[k][2]) element.setAttribute(name, value);
  });
  if (next.text === old.text) return;
  if (element.firstChild === null) element.textContent = next.text;
  else element.firstChild.nodeValue = next.text;
}

const PLAIN = /^<\w+((?: [\w-]+="[^"&]*")*)\/?>(?:([^<&]*)<\/\w+>)?$/;
const ATTRIBUTE = / ([\w-]+)="([^"]*)"/g;

/** An element of attributes and text without escaped characters; `undefined` where a line is more than that. */
function plainOf(line: string):
  | {
      readonly attributes: readonly RegExpExecArray[];
      readonly names: string;
      readonly text: string;
    }
  | undefined {
  const found = PLAIN.exec(line);
  if (found === null) return undefined;
  const attributes = [...found[1].matchAll(ATTRIBUTE)];
  return { attributes, names: attributes.map(([, name]) => name).join(' '), text: found[2] ?? '' };
}

function readElement(line: string, parent: Element): Element {
  // Elements of a drawing are such only inside one.
  const isDrawn = parent instanceof SVGElement;
  const read = readHtml(isDrawn ? `<svg>${line}</svg>` : line);
  return (isDrawn ? read.firstElementChild! : read).firstElementChild!;
}

/** Elements that stand nowhere yet. */
function readHtml(html: string): DocumentFragment {
  const template = document.createElement('template');
  template.innerHTML = html;
  return template.content;
}

function becomeChildren(shown: Node, wanted: Node): void {
  const before = [...shown.childNodes];
  const after = [...wanted.childNodes];
  after.forEach((node, place) => {
    const old = before[place];
    if (old === undefined) shown.appendChild(node);
    else if (old.nodeName === node.nodeName) becomeNode(old, node);
    else shown.replaceChild(node, old);
  });
  for (const gone of before.slice(after.length)) gone.remove();
}

function becomeNode(shown: Node, wanted: Node): void {
  if (shown.isEqualNode(wanted)) return;
  if (shown instanceof Element && wanted instanceof Element) {
    for (const { name, value } of wanted.attributes)
      if (shown.getAttribute(name) !== value) shown.setAttribute(name, value);
    for (const { name } of [...shown.attributes]) if (!wanted.hasAttribute(name)) shown.removeAttribute(name);
    becomeChildren(shown, wanted);
  } else if (shown.nodeValue !== wanted.nodeValue) shown.nodeValue = wanted.nodeValue;
}
