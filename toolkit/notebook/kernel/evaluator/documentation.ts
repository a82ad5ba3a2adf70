import type { QuickInfo } from './tslab-parts.js';

/** Type and documentation of a name, as plain text and as Markdown. */
export interface Documentation {
  readonly text: string;
  readonly markdown: string;
}

type Parts = readonly { readonly text: string }[] | undefined;

/** What the compiler knows about a name: its type, then its doc comment, then the tags of the comment. */
export function documentationOf(info: QuickInfo | undefined): Documentation | undefined {
  const signature = joined(info?.displayParts);
  if (info === undefined || signature === '') return undefined;
  const body = linked(joined(info.documentation));
  const tags = (info.tags ?? []).map((tag) => ({ name: tag.name, text: linked(joined(tag.text)) }));
  return {
    text: [signature, body, ...tags.map(({ name, text }) => `@${name} ${text}`.trimEnd())]
      .filter((part) => part !== '')
      .join('\n\n'),
    markdown: [inFence(signature), body, ...tags.map(tagInMarkdown)]
      .filter((part) => part !== '')
      .join('\n\n')
      .replaceAll(/\n\n(?=- `)/g, '\n'),
  };
}

/**
 * Where to look for what a person asks about with the cursor at a position: there, just before it, and at the
 * function whose arguments are being written. Offsets, best first.
 */
export function placesToInspect(code: string, position: number): readonly number[] {
  const places: number[] = [];
  if (isNameAt(code, position)) places.push(position);
  if (isNameAt(code, position - 1)) places.push(position - 1);
  const call = openCallBefore(code, position);
  if (call !== undefined) places.push(call);
  return places;
}

/** Offset in the name before the nearest parenthesis that is still open, if a name stands there. */
function openCallBefore(code: string, position: number): number | undefined {
  let closed = 0;
  for (let at = position - 1; at >= 0; at -= 1) {
    const character = code[at];
    if (')]}'.includes(character)) closed += 1;
    else if ('([{'.includes(character)) {
      if (closed > 0) closed -= 1;
      else if (character === '(' && isNameAt(code, at - 1)) return at - 1;
    }
  }
  return undefined;
}

function isNameAt(code: string, at: number): boolean {
  return /^[\p{L}\p{N}_$]$/u.test(code[at] ?? '');
}

function tagInMarkdown({ name, text }: { readonly name: string; readonly text: string }): string {
  if (name === 'example') return `**Example**\n\n${text.startsWith('```') ? text : inFence(text)}`;
  if (name === 'param') return `- ${text.replace(/^(\S+)/, '`$1`')}`;
  if (name === 'returns') return `**Returns** ${text}`;
  if (name === 'throws') return `**Throws** ${text}`;
  return `**${name}** ${text}`.trimEnd();
}

function inFence(code: string): string {
  return `\`\`\`ts\n${code}\n\`\`\``;
}

/** `{@link name}` as its name. */
function linked(text: string): string {
  return text.replaceAll(/\{@link(?:code|plain)?\s+([^}|\s]+)\s*(?:[|\s]\s*([^}]*))?\}/g, (_, name, label) =>
    String(label || name),
  );
}

function joined(parts: Parts): string {
  return (parts ?? []).map(({ text }) => text).join('');
}
