import { escapeHtml } from '../html-text.js';
import { inlineMarkdown, type MathmlOfTex, mathsHtml } from './light-markdown-inline.js';

/**
 * A little Markdown as HTML: paragraphs, `#` headings, `-` and `1.` lists within lists, tables, quotes, rules,
 * `**strong**`, `*emphasis*`, `` `code` ``, fenced code, links to the web and to files beside the page, formulas in `$`
 * and `$$`, and `<details><summary>` that folds what it holds. All other HTML is shown as text.
 *
 * @param source - the Markdown text
 * @param mathml - makes MathML of a formula; without it formulas appear as their TeX source
 */
export function lightMarkdown(source: string, mathml?: MathmlOfTex): string {
  return blocksHtml(source.replace(/\r\n?/g, '\n').split('\n'), { mathml, depth: 0 });
}

interface Place {
  readonly mathml: MathmlOfTex | undefined;
  /** How many quotes, lists and folds are around. */
  readonly depth: number;
}

interface Block {
  readonly html: string;
  /** The first line after it. */
  readonly end: number;
}

type BlockReader = (lines: readonly string[], at: number, place: Place) => Block | undefined;

const topHeadingLevel = 2;
/** Deeper than people write: a text of nothing but marks must not exhaust the stack. */
const deepest = 12;

function blocksHtml(lines: readonly string[], place: Place): string {
  const blocks: string[] = [];
  let at = 0;
  while (at < lines.length) {
    if (lines[at].trim() === '') {
      at++;
      continue;
    }
    const block = blockAt(lines, at, place) ?? paragraph(lines, at, place);
    blocks.push(block.html);
    at = block.end;
  }
  return blocks.join('\n');
}

function blockAt(lines: readonly string[], at: number, place: Place): Block | undefined {
  for (const read of readers) {
    const block = read(lines, at, place);
    if (block !== undefined) return block;
  }
  return undefined;
}

function inside(lines: readonly string[], { mathml, depth }: Place): string {
  return blocksHtml(lines, { mathml, depth: depth + 1 });
}

function paragraph(lines: readonly string[], start: number, { mathml }: Place): Block {
  let end = start + 1;
  while (end < lines.length && lines[end].trim() !== '' && !interruptsParagraph.test(lines[end])) end++;
  const text = lines.slice(start, end).join(' ');
  return { html: `<p>${inlineMarkdown(text, mathml)}</p>`, end };
}

const listMark = /^( *)([-*]|\d{1,9}[.)])\s+/;
const interruptsParagraph = /^(?:```|\$\$|#{1,4}\s|>|<details[\s>]|\s*(?:[-*]|\d{1,9}[.)])\s+)/;

const fencedCode: BlockReader = (lines, at) => {
  if (!lines[at].startsWith('```')) return undefined;
  let end = at + 1;
  while (end < lines.length && !lines[end].startsWith('```')) end++;
  const code = escapeHtml(lines.slice(at + 1, end).join('\n'));
  return { html: `<pre><code>${code}</code></pre>`, end: end + 1 };
};

const formula: BlockReader = (lines, at, { mathml }) => {
  if (!lines[at].startsWith('$$')) return undefined;
  for (let end = at; end < lines.length && (end === at || lines[end].trim() !== ''); end++) {
    const text = lines
      .slice(at, end + 1)
      .join('\n')
      .trimEnd();
    if (text.length < 5 || !text.endsWith('$$')) continue;
    const tex = text.slice(2, -2);
    if (tex.includes('$$')) return undefined;
    return { html: `<div class="formula">${mathsHtml(tex, 'block', mathml)}</div>`, end: end + 1 };
  }
  return undefined;
};

const details: BlockReader = (lines, at, place) => {
  const start = /^<details(?: open)?>/.exec(lines[at]);
  if (start === null || place.depth >= deepest) return undefined;
  let open = 0;
  for (let end = at; end < lines.length; end++) {
    for (const { 0: tag, index } of lines[end].matchAll(/<details[^>]*>|<\/details>/g)) {
      open += tag === '</details>' ? -1 : 1;
      if (open > 0) continue;
      const whole = [...lines.slice(at, end), lines[end].slice(0, index)].join('\n');
      const inner = whole.slice(start[0].length);
      const summary = /^\s*<summary>([\s\S]*?)<\/summary>/.exec(inner);
      const heading = inlineMarkdown((summary?.[1] ?? 'More').trim(), place.mathml);
      const content = inside(inner.slice(summary?.[0].length ?? 0).split('\n'), place);
      const after = inside([lines[end].slice(index + tag.length)], place);
      return {
        html: `<details><summary>${heading}</summary>\n${content}\n</details>${after}`,
        end: end + 1,
      };
    }
  }
  return undefined;
};

const heading: BlockReader = (lines, at, { mathml }) => {
  const found = /^(#{1,4})\s+(.*)$/.exec(lines[at]);
  if (found === null) return undefined;
  const level = topHeadingLevel - 1 + found[1].length;
  return { html: `<h${level}>${inlineMarkdown(found[2], mathml)}</h${level}>`, end: at + 1 };
};

const rule: BlockReader = (lines, at) =>
  /^(?:-{3,}|\*{3,})\s*$/.test(lines[at]) ? { html: '<hr>', end: at + 1 } : undefined;

const quote: BlockReader = (lines, at, place) => {
  if (!lines[at].startsWith('>') || place.depth >= deepest) return undefined;
  let end = at;
  while (end < lines.length && lines[end].startsWith('>')) end++;
  const inner = lines.slice(at, end).map((line) => line.replace(/^> ?/, ''));
  return { html: `<blockquote>\n${inside(inner, place)}\n</blockquote>`, end };
};

const table: BlockReader = (lines, at, { mathml }) => {
  if (!lines[at].includes('|') || !(lines[at + 1] ?? '').includes('|')) return undefined;
  const marks = cellsOf(lines[at + 1]);
  const heads = cellsOf(lines[at]);
  if (heads.length !== marks.length || !marks.every((mark) => /^:?-+:?$/.test(mark))) return undefined;
  const numeric = marks.map((mark) => (/^-+:$/.test(mark) ? ' class="number"' : ''));
  let end = at + 2;
  while (end < lines.length && lines[end].includes('|')) end++;
  const row = (cells: readonly string[], tag: 'th' | 'td'): string =>
    `<tr>${heads.map((_, i) => `<${tag}${numeric[i]}>${inlineMarkdown(cells[i] ?? '', mathml)}</${tag}>`).join('')}</tr>`;
  const rows = lines.slice(at + 2, end).map((line) => row(cellsOf(line), 'td'));
  return {
    html: `<div class="table"><table><thead>${row(heads, 'th')}</thead><tbody>\n${rows.join('\n')}\n</tbody></table></div>`,
    end,
  };
};

function cellsOf(line: string): readonly string[] {
  const inner = line
    .trim()
    .replace(/^\|/, '')
    .replace(/(?<!\\)\|$/, '');
  return inner.split(/(?<!\\)\|/).map((cell) => cell.trim().replaceAll('\\|', '|'));
}

const list: BlockReader = (lines, start, place) => {
  const first = listMark.exec(lines[start]);
  if (first === null || place.depth >= deepest) return undefined;
  const indent = first[1].length;
  const isNumbered = /\d/.test(first[2]);
  const items: { text: string; readonly offset: number; readonly inner: string[] }[] = [];
  let at = start;
  for (; at < lines.length; at++) {
    const line = lines[at];
    const item = items.at(-1);
    if (line.trim() === '') {
      if (!goesOn(lines, at, indent, isNumbered)) break;
      item?.inner.push('');
      continue;
    }
    const mark = listMark.exec(line);
    const depth = line.search(/\S/);
    if (mark !== null && depth <= indent) {
      if (depth < indent || /\d/.test(mark[2]) !== isNumbered) break;
      items.push({ text: line.slice(mark[0].length), offset: mark[0].length, inner: [] });
    } else if (item === undefined) break;
    else if (mark !== null || item.inner.length > 0) {
      if (depth <= indent) break;
      item.inner.push(line.slice(Math.min(depth, item.offset)));
    } else item.text += ` ${line.trim()}`;
  }
  const number = Number.parseInt(first[2], 10);
  const begin = isNumbered ? `<ol${number === 1 ? '' : ` start="${number}"`}>` : '<ul>';
  const parts = items.map(({ text, inner }) => {
    const more = inside(inner, place);
    return `<li>${inlineMarkdown(text, place.mathml)}${more === '' ? '' : `\n${more}\n`}</li>`;
  });
  return { html: `${begin}${parts.join('')}${isNumbered ? '</ol>' : '</ul>'}`, end: at };
};

/** Whether a list goes on after an empty line: with a further item, or with lines that belong to the last one. */
function goesOn(lines: readonly string[], at: number, indent: number, isNumbered: boolean): boolean {
  const next = lines[at + 1];
  if (next === undefined || next.trim() === '') return false;
  const mark = listMark.exec(next);
  const depth = next.search(/\S/);
  if (mark === null || depth > indent) return depth > indent + 1;
  return depth === indent && /\d/.test(mark[2]) === isNumbered;
}

const readers: readonly BlockReader[] = [fencedCode, formula, details, heading, rule, quote, table, list];
