import { escapeHtml } from './html-text.js';

/**
 * A little Markdown as HTML: paragraphs, `#` headings, `-` and `1.` lists, `**strong**`, `*emphasis*`,
 * `` `code` ``, fenced code, and links to http(s) addresses. Everything else, HTML included, is shown as text.
 */
export function lightMarkdown(source: string, topHeadingLevel = 2): string {
  const lines = source.replace(/\r\n?/g, '\n').split('\n');
  const blocks: string[] = [];
  let at = 0;
  while (at < lines.length) {
    const line = lines[at]!;
    if (line.trim() === '') {
      at++;
      continue;
    }
    if (line.startsWith('```')) {
      const code: string[] = [];
      for (at++; at < lines.length && !lines[at]!.startsWith('```'); at++) code.push(lines[at]!);
      at++;
      blocks.push(`<pre><code>${escapeHtml(code.join('\n'))}</code></pre>`);
      continue;
    }
    const heading = /^(#{1,4})\s+(.*)$/.exec(line);
    if (heading !== null) {
      const level = Math.min(6, topHeadingLevel - 1 + heading[1]!.length);
      blocks.push(`<h${level}>${inline(heading[2]!)}</h${level}>`);
      at++;
      continue;
    }
    const list = listMark.exec(line);
    if (list !== null) {
      const tag = /\d/.test(list[1]!) ? 'ol' : 'ul';
      const items: string[] = [];
      for (; at < lines.length && lines[at]!.trim() !== ''; at++) {
        const item = listMark.exec(lines[at]!);
        if (item === null) items[items.length - 1] += ` ${lines[at]!.trim()}`;
        else items.push(lines[at]!.slice(item[0].length));
      }
      blocks.push(`<${tag}>${items.map((item) => `<li>${inline(item)}</li>`).join('')}</${tag}>`);
      continue;
    }
    const paragraph: string[] = [];
    for (; at < lines.length && lines[at]!.trim() !== '' && !startsBlock(lines[at]!, paragraph.length); at++)
      paragraph.push(lines[at]!);
    blocks.push(`<p>${inline(paragraph.join(' '))}</p>`);
  }
  return blocks.join('\n');
}

const listMark = /^\s*([-*]|\d+[.)])\s+/;

function startsBlock(line: string, linesBefore: number): boolean {
  return linesBefore > 0 && (line.startsWith('```') || /^#{1,4}\s/.test(line) || listMark.test(line));
}

function inline(text: string): string {
  // Code first, as nothing inside it is marked up; the pieces between are escaped before marks are read.
  return text
    .split(/(`[^`]+`)/)
    .map((part) =>
      part.length > 2 && part.startsWith('`') && part.endsWith('`')
        ? `<code>${escapeHtml(part.slice(1, -1))}</code>`
        : marked(escapeHtml(part)),
    )
    .join('');
}

function marked(escaped: string): string {
  return escaped
    .split(/(\[[^\]]+\]\(https?:\/\/[^\s()]+\))/)
    .map((part) => {
      const link = /^\[([^\]]+)\]\((https?:\/\/[^\s()]+)\)$/.exec(part);
      if (link !== null) return `<a href="${link[2]}" rel="noreferrer">${emphasised(link[1]!)}</a>`;
      return emphasised(part);
    })
    .join('');
}

function emphasised(escaped: string): string {
  return escaped
    .replace(/\*\*(\S(?:[^*]*\S)?)\*\*/g, '<strong>$1</strong>')
    .replace(/\*(\S(?:[^*]*\S)?)\*/g, '<em>$1</em>');
}
