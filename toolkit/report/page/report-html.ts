import { ArgumentError, type KnownNames, requireKnownNames } from '../../errors.js';
import type { Figure } from '../../figures/figure.js';
import { darkTwins } from '../../figures/palette.js';
import type { Finding } from '../../runs/finding.js';
import { asSentence } from '../as-sentence.js';
import { escapeHtml, scriptJson, scriptSource, textWithCode } from '../html-text.js';
import { figureInWords } from '../still/still-figure.js';
import { stillImage } from '../still/still-picture.js';
import type { Table } from '../tables/table.js';
import { tableHtml } from '../tables/table-html.js';
import { lightMarkdown } from './light-markdown.js';
import type { MathmlOfTex } from './light-markdown-inline.js';
import { pageScript } from './page-script.js';
import { pageStyle } from './page-style.js';

/** One part of a report, from top to bottom. */
export type ReportItem =
  | { readonly kind: 'heading'; readonly text: string; readonly level?: 2 | 3 | 4 }
  /**
   * A little Markdown: paragraphs, headings, lists, tables, quotes, strong, emphasis, code, links, formulas in `$`, and
   * `<details><summary>` that folds. Other HTML in it is shown as text.
   */
  | { readonly kind: 'markdown'; readonly text: string }
  | { readonly kind: 'table'; readonly table: Table }
  | { readonly kind: 'figure'; readonly figure: Figure }
  | { readonly kind: 'findings'; readonly findings: readonly Finding[] }
  /** What a program printed, as it is. */
  | { readonly kind: 'output'; readonly text: string }
  /** Code that was run, as it is. */
  | { readonly kind: 'code'; readonly text: string }
  /** HTML that goes into the page as it is, scripts and all: only what this toolkit has made, never what a file holds. */
  | { readonly kind: 'live'; readonly html: string };

/** In the head of every page, so that a program that writes pages knows its own again. */
export const generatorTag: string = '<meta name="generator" content="kelvin-per-watt">';

/** Source of Plotly for a page: as text, or gzipped and in base64, which a third of the size is left of. */
export type PlotlySource = string | { readonly gzipBase64: string };

/** What goes around the items. */
export interface ReportOptions {
  /** Title of the page and its first heading. */
  readonly title: string;
  /** A line below the title: what, when, by whom. */
  readonly subtitle?: string;
  /**
   * The text of `plotly.min.js` from plotly.js-dist-min, or the same gzipped; `plotlySource()` of
   * `kelvin-per-watt/node` gives it. Without it figures are still pictures.
   */
  readonly plotlySource?: PlotlySource;
  /**
   * Makes MathML of the TeX of a formula in Markdown; goes into the page as it is. Without it, or where it gives nothing,
   * formulas appear as their TeX source.
   */
  readonly mathml?: MathmlOfTex;
  /** Language of the texts, a BCP 47 tag. Default `en`. */
  readonly language?: string;
}

const OPTION_NAMES: KnownNames<ReportOptions> = {
  title: true,
  subtitle: true,
  plotlySource: true,
  mathml: true,
  language: true,
};

/**
 * One HTML page with everything in it: opens from disk, loads nothing from anywhere, prints well, follows the
 * reader's light or dark theme.
 *
 * Every text is shown as text, whatever it contains. Plotly is in the page once, however many figures there are;
 * a content security policy in the page forbids it to load anything. Without scripts the figures are still pictures; in
 * words and numbers they stand folded below each.
 *
 * @param items - what the page shows, in order
 * @param options - title, Plotly's source
 * @returns the text of the page
 * @throws ArgumentError if an item's kind is unknown or the title is missing
 * @example
 * reportHtml([{ kind: 'markdown', text: 'The **cap**' }], { title: 'Drawer' }).includes('<strong>cap</strong>');
 * // => true
 * reportHtml([{ kind: 'output', text: '<b>' }], { title: 'Drawer' }).includes('&lt;b&gt;'); // => true
 */
export function reportHtml(items: readonly ReportItem[], options: ReportOptions): string {
  if (typeof options?.title !== 'string') {
    throw new ArgumentError({
      caller: 'reportHtml',
      argument: 'options.title',
      expected: 'a text',
      received: options?.title,
    });
  }
  requireKnownNames(options, OPTION_NAMES, { caller: 'reportHtml', argument: 'options' });
  const figures: Figure[] = [];
  const body = items
    .map((item, index) => itemHtml(item, { index, figures, mathml: options.mathml }))
    .join('\n');
  const title = escapeHtml(options.title);
  const subtitle =
    options.subtitle === undefined ? '' : `\n<p class="subtitle">${escapeHtml(options.subtitle)}</p>`;
  return `<!doctype html>
<html lang="${escapeHtml(options.language ?? 'en')}">
<head>
<meta charset="utf-8">
${generatorTag}
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:; base-uri 'none'; form-action 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${title}</title>
<link rel="icon" href="data:,">
<style>${pageStyle}</style>
</head>
<body>
<main>
<h1>${title}</h1>${subtitle}
${body}
</main>${figures.length === 0 ? '' : scripts(figures, options.plotlySource)}
</body>
</html>
`;
}

function itemHtml(
  item: ReportItem,
  page: { readonly index: number; readonly figures: Figure[]; readonly mathml: MathmlOfTex | undefined },
): string {
  const { index, figures, mathml } = page;
  switch (item?.kind) {
    case 'heading':
      return `<h${item.level ?? 2}>${escapeHtml(item.text)}</h${item.level ?? 2}>`;
    case 'markdown':
      return lightMarkdown(item.text, mathml);
    case 'table':
      return tableHtml(item.table);
    case 'figure': {
      figures.push(item.figure);
      const height = Number(item.figure.layout.height);
      return `<figure><div class="picture" id="figure-${figures.length}" style="--height:${height}px"><div class="still">${stillImage(item.figure)}</div></div>\n${figureInWords(item.figure)}</figure>`;
    }
    case 'findings':
      return findingsHtml(item.findings);
    case 'output':
      return `<pre class="output">${escapeHtml(item.text)}</pre>`;
    case 'code':
      return `<pre><code>${escapeHtml(item.text)}</code></pre>`;
    case 'live':
      return item.html;
    default:
      throw new ArgumentError({
        caller: 'reportHtml',
        argument: `items[${index}].kind`,
        expected: 'heading, markdown, table, figure, findings, output, code or live',
        received: (item as { readonly kind?: unknown } | undefined)?.kind,
      });
  }
}

function findingsHtml(findings: readonly Finding[]): string {
  if (findings.length === 0) return '<p>No findings.</p>';
  const items = findings.map((finding) => {
    const severity = ['serious', 'warning'].includes(finding.severity) ? finding.severity : 'note';
    const remedy =
      finding.remedy === undefined ? '' : ` <em>${textWithCode(asSentence(finding.remedy))}</em>`;
    return `<li class="${severity}"><strong>${severity}</strong>${textWithCode(finding.message)}${remedy}</li>`;
  });
  return `<ul class="findings">\n${items.join('\n')}\n</ul>`;
}

function scripts(figures: readonly Figure[], source: PlotlySource | undefined): string {
  if (source === undefined) return '';
  const library =
    typeof source === 'string'
      ? `<script>${scriptSource(source)}</script>`
      : `<script type="text/plain" id="plotly-gzip">${base64Only(source.gzipBase64)}</script>`;
  return `
<script>document.documentElement.classList.add('scripted');</script>
<script type="application/json" id="figure-data">${scriptJson(figures)}</script>
<script type="application/json" id="dark-twins">${scriptJson(darkTwins)}</script>
${library}
<script>${pageScript}</script>`;
}

function base64Only(text: string): string {
  if (/^[A-Za-z0-9+/=]*$/.test(text)) return text;
  throw new ArgumentError({
    caller: 'reportHtml',
    argument: 'options.plotlySource.gzipBase64',
    expected: 'base64 text',
    received: text,
    remedy: 'use plotlySource() of kelvin-per-watt/node',
  });
}
