/** Attributes and listeners of a new element; `text` is set as text, never as HTML. */
export interface ElementOptions {
  readonly class?: string;
  readonly text?: string;
  readonly title?: string;
  readonly label?: string;
  readonly onClick?: (event: MouseEvent) => void;
  readonly attributes?: Readonly<Record<string, string>>;
}

/** A new element with its children. */
export function element<Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  options: ElementOptions = {},
  children: readonly Node[] = [],
): HTMLElementTagNameMap[Tag] {
  const node = document.createElement(tag);
  if (options.class !== undefined) node.className = options.class;
  if (options.text !== undefined) node.textContent = options.text;
  if (options.title !== undefined) node.title = options.title;
  if (options.label !== undefined) node.setAttribute('aria-label', options.label);
  for (const [name, value] of Object.entries(options.attributes ?? {})) node.setAttribute(name, value);
  if (options.onClick !== undefined) node.addEventListener('click', options.onClick as EventListener);
  if (tag === 'button') node.setAttribute('type', 'button');
  node.append(...children);
  return node;
}
