import { Sanitizer } from '@jupyterlab/apputils';
import type { EditorLanguageRegistry } from '@jupyterlab/codemirror';
import { createMarkdownParser } from '@jupyterlab/markedparser-extension';
import { MathJaxTypesetter } from '@jupyterlab/mathjax-extension';
import { type IMarkdownParser, RenderMimeRegistry, standardRendererFactories } from '@jupyterlab/rendermime';
import { plotlyRendererFactory } from './plotly-renderer.js';
import type { Theme } from './theme.js';
import { words } from './words.js';

/** How outputs and Markdown become visible. */
export interface Rendering {
  readonly registry: RenderMimeRegistry;
  readonly markdown: IMarkdownParser;
  readonly sanitizer: Sanitizer;
}

/** Renderers of all media types, Markdown with maths, and what cleans what is not trusted. */
export function createRendering(languages: EditorLanguageRegistry, theme: Theme): Rendering {
  const sanitizer = new Sanitizer();
  const markdown = createMarkdownParser(languages);
  const registry = new RenderMimeRegistry({
    initialFactories: [...standardRendererFactories, plotlyRendererFactory(theme)],
    latexTypesetter: new MathJaxTypesetter(),
    markdownParser: markdown,
    sanitizer,
    translator: words,
  });
  return { registry, markdown, sanitizer };
}
