/**
 * Texts of an element whose contrast with what is behind them is below a ratio, by WCAG 2.2, 1.4.3: (L₁ + 0.05)/(L₂ + 0.05) of
 * the relative luminances [definition from memory]. Runs in the page. Opacity and translucent colours are laid over what is
 * behind; behind a text of a drawing is the drawing's paper.
 */
export function contrastBelow(root: Element, least: number): string[] {
  type Colour = readonly [red: number, green: number, blue: number, alpha: number];
  const colourOf = (css: string): Colour => {
    const [red = 0, green = 0, blue = 0, alpha = 1] = css.match(/[\d.]+/g)?.map(Number) ?? [];
    return [red, green, blue, css === 'transparent' || css === 'none' ? 0 : alpha];
  };
  const over = ([r, g, b, a]: Colour, [x, y, z]: Colour): Colour => [
    a * r + (1 - a) * x,
    a * g + (1 - a) * y,
    a * b + (1 - a) * z,
    1,
  ];
  const luminance = (colour: Colour): number => {
    const [red, green, blue] = colour.slice(0, 3).map((value) => {
      const share = value / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
  };
  const ancestors = (of: Element): Element[] => {
    const found: Element[] = [];
    for (let at: Element | null = of; at !== null; at = at.parentElement) found.unshift(at);
    return found;
  };
  // Without a background of its own a page is white, or what its colour scheme makes of it.
  const canvas = document.createElement('div');
  canvas.style.color = 'Canvas';
  document.body.append(canvas);
  const page = colourOf(getComputedStyle(canvas).color);
  canvas.remove();
  const behind = (element: Element): Colour => {
    let ground = page;
    for (const at of ancestors(element)) {
      ground = over(colourOf(getComputedStyle(at).backgroundColor), ground);
      const paper = at.localName === 'svg' ? at.querySelector(':scope > rect') : null;
      if (paper !== null) ground = over(colourOf(getComputedStyle(paper).fill), ground);
    }
    return ground;
  };
  const poor: string[] = [];
  for (const element of root.querySelectorAll<HTMLElement | SVGElement>('*')) {
    const own = [...element.childNodes]
      .filter(({ nodeType }) => nodeType === Node.TEXT_NODE)
      .map(({ nodeValue }) => nodeValue?.trim())
      .join('');
    const isField = element instanceof HTMLInputElement && element.type !== 'range';
    const text = isField ? element.value : own;
    if (text === '' || ['style', 'script', 'title', 'desc'].includes(element.localName)) continue;
    if (!element.checkVisibility()) continue;
    const style = getComputedStyle(element);
    const ground = behind(element);
    const [red, green, blue, alpha] = colourOf(element instanceof SVGElement ? style.fill : style.color);
    const opacity = ancestors(element).reduce((all, at) => all * Number(getComputedStyle(at).opacity), alpha);
    const [a, b] = [luminance(over([red, green, blue, opacity], ground)), luminance(ground)];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < least) poor.push(`${text.slice(0, 40)}: ${ratio.toFixed(2)}`);
  }
  return poor;
}
