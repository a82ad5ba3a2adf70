import { escapeHtml, unitsKept } from '../html-text.js';

/** TeX as MathML, or nothing where it cannot be read: its source is shown then. */
export type MathmlOfTex = (tex: string, kind: 'inline' | 'block') => string | undefined;

/** Marks inside a line. Code and maths come first, as nothing inside them is marked up; the rest is escaped before. */
export function inlineMarkdown(text: string, mathml?: MathmlOfTex): string {
  return text
    .split(/(`[^`]+`|\$\$[^$]+\$\$|(?<![\\$])\$(?![\s$])[^$`]*(?<![\s\\])\$(?![\d$]))/)
    .map((part, index) => {
      if (index % 2 === 0) return marked(unitsKept(escapeHtml(part.replaceAll('\\$', '$'))));
      if (part.startsWith('`')) return `<code>${escapeHtml(part.slice(1, -1))}</code>`;
      return part.startsWith('$$')
        ? mathsHtml(part.slice(2, -2), 'block', mathml)
        : mathsHtml(part.slice(1, -1), 'inline', mathml);
    })
    .join('');
}

/** A formula; without a converter, or where that cannot read it, its TeX source. */
export function mathsHtml(tex: string, kind: 'inline' | 'block', mathml?: MathmlOfTex): string {
  return mathml?.(tex.trim(), kind) ?? `<code class="tex">${escapeHtml(tex.trim())}</code>`;
}

// An address on the web, or a file beside the page; never a scheme that runs something.
const linkAddress = String.raw`(?:https?:\/\/|(?![\w+.-]*:|\/\/|#))[^\s()]+`;
const anyLink = new RegExp(String.raw`(?<!!)(\[[^\]]+\]\(${linkAddress}\))`);
const oneLink = new RegExp(String.raw`^\[([^\]]+)\]\((${linkAddress})\)$`);

function marked(escaped: string): string {
  return escaped
    .split(anyLink)
    .map((part) => {
      const link = oneLink.exec(part);
      if (link !== null) return `<a href="${link[2]}" rel="noreferrer">${emphasised(link[1])}</a>`;
      return emphasised(part);
    })
    .join('');
}

function emphasised(escaped: string): string {
  return escaped
    .replace(/\*\*(\S(?:[^*]*\S)?)\*\*/g, '<strong>$1</strong>')
    .replace(/\*(\S(?:[^*]*\S)?)\*/g, '<em>$1</em>');
}
