import { runInNewContext } from 'node:vm';
import { gunzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { figureOfCapChoice } from '../../../../toolkit/figures/figure-of-cap-choice.js';
import { figureOfRun } from '../../../../toolkit/figures/figure-of-run.js';
import { escapeHtml, scriptJson, scriptSource } from '../../../../toolkit/report/html-text.js';
import { lightMarkdown } from '../../../../toolkit/report/page/light-markdown.js';
import { pageScript } from '../../../../toolkit/report/page/page-script.js';
import { plotlySource } from '../../../../toolkit/report/page/plotly-node.js';
import { type ReportItem, reportHtml } from '../../../../toolkit/report/page/report-html.js';
import { capChoice, drawerRun } from '../../figures/puppet-theatre.js';

const hostile = '</script><script>alert(1)</script><img src=x onerror=alert(2)>"\'&\u2028\u2029';

function scriptElements(page: string): readonly { readonly attributes: string; readonly content: string }[] {
  return [...page.matchAll(/<script([^>]*)>([\s\S]*?)<\/script>/g)].map((match) => ({
    attributes: match[1],
    content: match[2],
  }));
}

describe('escaping', () => {
  it('leaves no mark that HTML acts on', () => {
    expect(escapeHtml('<a href="x">\'&')).toBe('&lt;a href=&quot;x&quot;&gt;&#39;&amp;');
    expect(escapeHtml('a\u0000b\u202ec')).toBe('a\ufffdbc');
  });

  it('keeps data inside its script element and reads back the same', () => {
    const text = scriptJson({ label: hostile, comment: '<!-- <script' });
    expect(text).not.toMatch(/[<>&\u2028\u2029]/);
    expect(JSON.parse(text)).toEqual({ label: hostile, comment: '<!-- <script' });
  });

  it('keeps a library inside its script element', () => {
    expect(scriptSource('var a="</script>",b="<!-- x"')).toBe('var a="<\\/script>",b="<\\!-- x"');
  });
});

describe('lightMarkdown', () => {
  it('reads paragraphs, headings, lists, emphasis, code and links', () => {
    expect(
      lightMarkdown('# Title\n\nOne **two** *three* `a*b*`\nfour [five](https://example.org/?a=1&b=2)'),
    ).toBe(
      '<h2>Title</h2>\n<p>One <strong>two</strong> <em>three</em> <code>a*b*</code> four <a href="https://example.org/?a=1&amp;b=2" rel="noreferrer">five</a></p>',
    );
    expect(lightMarkdown('- one\n  more\n- two\n\n1. first\n2. second')).toBe(
      '<ul><li>one more</li><li>two</li></ul>\n<ol><li>first</li><li>second</li></ol>',
    );
    expect(lightMarkdown('```\n<b>\n```')).toBe('<pre><code>&lt;b&gt;</code></pre>');
  });

  it('shows HTML and other links as text', () => {
    expect(lightMarkdown('<b>x</b> [y](javascript:alert(1))')).toBe(
      '<p>&lt;b&gt;x&lt;/b&gt; [y](javascript:alert(1))</p>',
    );
    expect(lightMarkdown('[y](https://a"onclick="x)')).not.toContain('"onclick');
  });

  it('reads tables, quotes, rules and lists within lists', () => {
    expect(lightMarkdown('| Cap | Hot |\n|---|--:|\n| 92 W | **yes** \\| no |\n| 95 W |')).toBe(
      '<div class="table"><table><thead><tr><th>Cap</th><th class="number">Hot</th></tr></thead><tbody>\n' +
        '<tr><td>92\u00a0W</td><td class="number"><strong>yes</strong> | no</td></tr>\n' +
        '<tr><td>95\u00a0W</td><td class="number"></td></tr>\n</tbody></table></div>',
    );
    expect(lightMarkdown('> one\n> two\n\n---')).toBe('<blockquote>\n<p>one two</p>\n</blockquote>\n<hr>');
    expect(lightMarkdown('3. a\n   - b\n   - c\n\n4. d\n\nend')).toBe(
      '<ol start="3"><li>a\n<ul><li>b</li><li>c</li></ul>\n</li><li>d</li></ol>\n<p>end</p>',
    );
  });

  it('folds what stands in details, and shows details that never end as text', () => {
    expect(
      lightMarkdown(
        '<details><summary>So**lution**</summary>\n\n- one\n\n<details>deep</details>\n</details>\n\nend',
      ),
    ).toBe(
      '<details><summary>So<strong>lution</strong></summary>\n<ul><li>one</li></ul>\n' +
        '<details><summary>More</summary>\n<p>deep</p>\n</details>\n</details>\n<p>end</p>',
    );
    expect(lightMarkdown('<details><summary>x')).toBe('<p>&lt;details&gt;&lt;summary&gt;x</p>');
    expect(lightMarkdown('<details onclick="x">a</details>')).not.toContain('<details');
  });

  it('hands formulas to the converter, and shows their source where it has nothing to give', () => {
    const mathml = (tex: string, kind: string) => (tex === 'x' ? undefined : `<math>${kind}:${tex}</math>`);
    expect(
      lightMarkdown('$$\nT = P*R*C\n$$\n\nWith $\\tau_1$, $x$, `$y$` and 5 $ to 9 $ or \\$7.', mathml),
    ).toBe(
      '<div class="formula"><math>block:T = P*R*C</math></div>\n' +
        '<p>With <math>inline:\\tau_1</math>, <code class="tex">x</code>, <code>$y$</code> and 5 $ to 9 $ or $7.</p>',
    );
    expect(lightMarkdown('$<b>$')).toBe('<p><code class="tex">&lt;b&gt;</code></p>');
  });

  it('links to the web and to files beside the page, and to nothing that runs', () => {
    expect(lightMarkdown('[a](../b.md)')).toBe('<p><a href="../b.md" rel="noreferrer">a</a></p>');
    for (const address of ['javascript:x', 'data:text/html,x', '//host/x', 'JaVa:x', 'vbscript:x', '#x'])
      expect(lightMarkdown(`[a](${address})`)).not.toContain('<a ');
    expect(lightMarkdown('![a](x.png)')).not.toMatch(/<a |<img/);
  });

  it('bears a text of nothing but marks', () => {
    expect(lightMarkdown('>'.repeat(100_000)).length).toBeGreaterThan(99_000);
    expect(lightMarkdown('<details>'.repeat(20_000)).length).toBeGreaterThan(99_000);
    expect(
      lightMarkdown(Array.from({ length: 200 }, (_, i) => `${' '.repeat(2 * i)}- x`).join('\n')),
    ).toContain('<li>x');
  });

  it('ends for any text, with every line in it', () => {
    expect(lightMarkdown('#no heading\n-no list\n```\nopen end')).toContain('open end');
    expect(lightMarkdown('')).toBe('');
  });
});

describe('reportHtml', () => {
  const items: readonly ReportItem[] = [
    { kind: 'heading', text: hostile },
    { kind: 'markdown', text: hostile },
    {
      kind: 'table',
      table: {
        kind: 'table',
        title: hostile,
        columns: [{ name: hostile, unit: hostile }],
        rows: [[hostile]],
        notes: [hostile],
      },
    },
    { kind: 'figure', figure: figureOfRun(drawerRun({ sampleCount: 200, label: hostile })) },
    { kind: 'figure', figure: figureOfCapChoice(capChoice({ cooler: hostile })) },
    { kind: 'findings', findings: [{ code: 'gap', severity: 'warning', message: hostile, remedy: hostile }] },
    { kind: 'output', text: hostile },
    { kind: 'code', text: hostile },
  ];

  it('shows every hostile text as text', () => {
    const page = reportHtml(items, {
      title: hostile,
      subtitle: hostile,
      language: '"><script>',
      plotlySource: 'void 0;',
    });
    const own = scriptElements(page);
    // Theme flag, figure data, colour table, library, page script: nothing else.
    expect(own.map(({ attributes }) => attributes)).toEqual([
      '',
      ' type="application/json" id="figure-data"',
      ' type="application/json" id="dark-twins"',
      '',
      '',
    ]);
    const withoutScripts = page.replace(/<script[^>]*>[\s\S]*?<\/script>/g, '');
    expect(withoutScripts).not.toContain('<script');
    // The still pictures are images; a drawing in an image runs nothing.
    const stillPictures =
      /<img alt="[^"<>]*" style="max-width:100%;height:auto" src="data:image\/svg\+xml;base64,[\w+/=]+">/g;
    expect(withoutScripts.match(stillPictures)).toHaveLength(2);
    expect(withoutScripts.replace(stillPictures, '')).not.toContain('<img');
    expect(withoutScripts).not.toMatch(/<[^>]*\sonerror=/);
    expect(withoutScripts.match(/&lt;img src=x onerror=alert\(2\)&gt;/g)!.length).toBeGreaterThan(8);
  });

  it('holds the figures as data that reads back the same', () => {
    const page = reportHtml(items, { title: 'x', plotlySource: 'void 0;' });
    const data = scriptElements(page).find(({ attributes }) => attributes.includes('figure-data'))!;
    const figures = items.flatMap((item) => (item.kind === 'figure' ? [item.figure] : []));
    expect(JSON.parse(data.content)).toEqual(figures);
  });

  it('loads nothing and forbids loading anything', () => {
    const page = reportHtml(items, { title: 'x', plotlySource: 'void 0;' });
    expect(page).toContain("default-src 'none'");
    expect(page.replaceAll(/ alt="[^"]*"/g, '')).not.toMatch(
      /<(?:script|img|iframe|source)[^>]+src=(?!"data:image\/svg\+xml;base64,)/,
    );
    expect(page).not.toMatch(/<link(?! rel="icon" href="data:,")/);
    expect(page).not.toMatch(/@import|url\(/);
  });

  it('holds Plotly once, whole, however many figures there are', () => {
    const source = plotlySource() as { gzipBase64: string };
    const page = reportHtml([...items, ...items], { title: 'x', plotlySource: source });
    const packed = scriptElements(page).filter(({ attributes }) => attributes.includes('plotly-gzip'));
    expect(packed).toHaveLength(1);
    const library = gunzipSync(Buffer.from(packed[0].content, 'base64')).toString('utf8');
    expect(library).toContain('plotly.js v');
    // One Plotly, gzipped and in base64, is 2.0 MB.
    expect(page.length).toBeLessThan(2.4e6);
  });

  it('holds no script and no Plotly where there is no figure', () => {
    expect(
      reportHtml([{ kind: 'output', text: 'x' }], { title: 'x', plotlySource: plotlySource() }),
    ).not.toContain('<script');
  });

  it('shows every figure as a still picture, in words and in numbers for readers without scripts', () => {
    const page = reportHtml([{ kind: 'figure', figure: figureOfCapChoice(capChoice()) }], { title: 'x' });
    expect(page).not.toContain('<script');
    const [, drawing = ''] = /src="data:image\/svg\+xml;base64,([^"]+)"/.exec(page) ?? [];
    expect(Buffer.from(drawing, 'base64').toString('utf8')).toContain(
      '<title>Flat 58 mm holds 85 °C up to 89 W</title>',
    );
    expect(page).toContain('<p>Steady temperature there 80 ± 6 °C, frequency 3522 ± 18 MHz.');
    expect(page).toMatch(/<td class="number">124<\/td><td class="number">98\.5<\/td>/);
  });

  it('has a page script that parses', () => {
    expect(() => runInNewContext(`(() => {\n${pageScript}\n})`)).not.toThrow();
  });

  it('says what is wrong with an item or option', () => {
    expect(() => reportHtml([{ kind: 'video' } as unknown as ReportItem], { title: 'x' })).toThrow(
      'reportHtml: `items[0].kind` must be heading, markdown, table, figure, findings, output, code or live (received "video")',
    );
    expect(() => reportHtml([], {} as { title: string })).toThrow(
      'reportHtml: `options.title` must be a text (received undefined)',
    );
    expect(() =>
      reportHtml([{ kind: 'figure', figure: figureOfCapChoice(capChoice()) }], {
        title: 'x',
        plotlySource: { gzipBase64: '</script>' },
      }),
    ).toThrow('reportHtml: `options.plotlySource.gzipBase64` must be base64 text');
  });
});
