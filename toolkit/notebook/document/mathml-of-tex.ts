import { createRequire } from 'node:module';
import type { MathmlOfTex } from '../../report/page/light-markdown-inline.js';

// Formulas are text of a notebook that may be anybody's: these would take them beyond showing a formula.
const refusedAttribute = /\s(?:href|id|class|style|src|on\w+)="/i;

/** The parts of the library that are used here. */
interface TexLibrary {
  readonly mathjax: {
    document(text: string, options: object): { convert(tex: string, options: object): unknown };
  };
  readonly TeX: new (options: object) => object;
  readonly liteAdaptor: () => object;
  readonly RegisterHTMLHandler: (adaptor: object) => void;
  readonly SerializedMmlVisitor: new () => { visitTree(tree: unknown): string };
  readonly STATE: { readonly CONVERT: number };
}

/**
 * Makes MathML of TeX by the library that the notebook app shows formulas with; every browser shows MathML without a
 * script. Nothing where the packages that the app is built from are not installed.
 */
export function loadMathmlOfTex(): MathmlOfTex | undefined {
  const library = loadLibrary();
  if (library === undefined) return undefined;
  const { mathjax, TeX, liteAdaptor, RegisterHTMLHandler, SerializedMmlVisitor, STATE } = library;
  RegisterHTMLHandler(liteAdaptor());
  const input = new TeX({
    packages: ['base', 'ams'],
    formatError: (_: unknown, problem: Error) => {
      throw problem;
    },
  });
  const page = mathjax.document('', { InputJax: input });
  const visitor = new SerializedMmlVisitor();
  return (tex, kind) => {
    try {
      const tree = page.convert(tex, { display: kind === 'block', end: STATE.CONVERT });
      const mathml = visitor.visitTree(tree).replaceAll(/\n\s*/g, '');
      return refusedAttribute.test(mathml) ? undefined : mathml;
    } catch {
      return undefined; // what cannot be read is shown as it was written
    }
  };
}

function loadLibrary(): TexLibrary | undefined {
  try {
    // As the app's own package finds it, so that a page shows a formula as the app does.
    const app = createRequire(import.meta.url).resolve('@jupyterlab/mathjax-extension/package.json');
    const part = createRequire(app) as (name: string) => object;
    part('mathjax-full/js/input/tex/ams/AmsConfiguration.js');
    const parts = [
      'mathjax.js',
      'input/tex.js',
      'adaptors/liteAdaptor.js',
      'handlers/html.js',
      'core/MmlTree/SerializedMmlVisitor.js',
      'core/MathItem.js',
    ].map((name) => part(`mathjax-full/js/${name}`));
    return Object.assign({}, ...parts) as TexLibrary;
  } catch (problem) {
    if ((problem as { readonly code?: unknown }).code === 'MODULE_NOT_FOUND') return undefined;
    throw problem;
  }
}
