/**
 * Makes what is shown equal to a piece of HTML and touches only what differs: a picture of which one line has moved is not
 * parsed, laid out and painted as a whole, and a screen reader hears of what has changed alone.
 */
export function show(place: Element, html: string): void {
  const wanted = document.createElement('template');
  wanted.innerHTML = html;
  becomeChildren(place, wanted.content);
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
  if (shown instanceof Element && wanted instanceof Element) {
    for (const { name, value } of wanted.attributes)
      if (shown.getAttribute(name) !== value) shown.setAttribute(name, value);
    for (const { name } of [...shown.attributes]) if (!wanted.hasAttribute(name)) shown.removeAttribute(name);
    becomeChildren(shown, wanted);
  } else if (shown.nodeValue !== wanted.nodeValue) shown.nodeValue = wanted.nodeValue;
}
