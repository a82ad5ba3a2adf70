import { readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Plugin } from 'esbuild';

const packageFolder = fileURLToPath(new URL('../../../../', import.meta.url));
const sourceFolder = join(packageFolder, 'toolkit', 'notebook', 'app', 'page');

/** Where the built page lies; it is part of the package. */
export const pageFolder: string = join(packageFolder, 'dist', 'page');

const stampName = 'build-stamp.json';

/** Size and time of every file the page was built from, so that a change is noticed without building. */
type Stamp = Readonly<Record<string, string>>;

/**
 * Builds the page unless it is there and nothing it was built from has changed. An installed package holds the built
 * page and not its sources: there nothing is ever built.
 *
 * @param onBuild - called before a build, which takes a few seconds
 * @returns whether it was built
 */
export async function ensurePage(onBuild: () => void): Promise<boolean> {
  const stamp = await readStamp();
  const hasSources = (await stateOf(join(sourceFolder, 'app.ts'))) !== undefined;
  if (stamp !== undefined && (!hasSources || (await isFresh(stamp)))) return false;
  if (!hasSources)
    throw new Error('This package lacks the built page of the notebook app: install it again.');
  onBuild();
  await build();
  return true;
}

async function build(): Promise<void> {
  const esbuild = await import('esbuild');
  const draftFolder = `${pageFolder}-${process.pid}`;
  const inputs = new Set([join(packageFolder, 'package-lock.json'), fileURLToPath(import.meta.url)]);
  try {
    const shared = {
      bundle: true,
      minify: true,
      metafile: true,
      logLevel: 'error',
      target: 'es2022',
    } as const;
    const results = [
      await esbuild.build({
        ...shared,
        entryPoints: { app: join(sourceFolder, 'app.ts') },
        outdir: draftFolder,
        format: 'esm',
        splitting: true,
        legalComments: 'linked',
        absWorkingDir: packageFolder,
        chunkNames: 'chunks/[name]-[hash]',
        assetNames: 'assets/[name]-[hash]',
        loader: {
          '.svg': 'text',
          '.woff': 'file',
          '.woff2': 'file',
          '.ttf': 'file',
          '.eot': 'empty',
          '.png': 'dataurl',
          '.gif': 'dataurl',
        },
        alias: { path: 'path-browserify' },
        define: {
          'process.env.NODE_ENV': '"production"',
          'process.env': '{}',
          'process.cwd': 'rootFolder',
          __dirname: '"/"',
          global: 'globalThis',
        },
        // What stands for the working directory in a browser, for the paths of files in a notebook.
        banner: { js: 'const rootFolder=()=>"/";' },
        plugins: [jupyterPackages],
      }),
      await esbuild.build({
        ...shared,
        entryPoints: { 'theme-first': join(sourceFolder, 'theme-first.ts') },
        outdir: draftFolder,
        format: 'iife',
        absWorkingDir: packageFolder,
      }),
    ];
    for (const { metafile } of results)
      for (const path of Object.keys(metafile.inputs))
        if (!path.includes('node_modules') && !path.includes(':')) inputs.add(resolve(packageFolder, path));
    const stamp: Record<string, string> = {};
    for (const path of [...inputs].sort())
      stamp[path.slice(packageFolder.length).replaceAll('\\', '/')] = (await stateOf(path)) ?? '';
    await writeFile(join(draftFolder, stampName), `${JSON.stringify(stamp, null, 1)}\n`);
    await rm(pageFolder, { recursive: true, force: true });
    await rename(draftFolder, pageFolder);
  } finally {
    await rm(draftFolder, { recursive: true, force: true });
  }
}

/** What the packages of JupyterLab expect of their usual bundler. */
const jupyterPackages: Plugin = {
  name: 'jupyter-packages',
  setup(build) {
    // `~package/style.css` is another bundler's way to name a package in CSS.
    build.onResolve({ filter: /^~/ }, ({ path, kind, resolveDir, importer }) =>
      build.resolve(path.slice(1), { kind, resolveDir, importer }),
    );
    // Icons are text in code, but addresses in CSS.
    build.onResolve({ filter: /\.svg$/ }, ({ kind, path, resolveDir }) =>
      kind === 'url-token' ? { path: resolve(resolveDir, path), namespace: 'svg-address' } : undefined,
    );
    build.onLoad({ filter: /.*/, namespace: 'svg-address' }, async ({ path }) => ({
      contents: await readFile(path),
      loader: 'dataurl',
    }));
    // Used outside browsers only, or by the diagram renderer, which is left out.
    build.onResolve(
      { filter: /^(fs|url|ws|source-map-js|crypto|buffer|mermaid|@mermaid-js\/layout-elk)$/ },
      ({ path }) => ({ path, namespace: 'left-out' }),
    );
    build.onLoad({ filter: /.*/, namespace: 'left-out' }, () => ({
      contents: 'module.exports = {}',
      loader: 'js',
    }));
    // `import()` of a CommonJS package gives only its default here; these lines take names out of it.
    build.onLoad({ filter: /mathjax-extension[\\/]lib[\\/]index\.js$/ }, async ({ path }) => ({
      loader: 'js',
      contents: (await readFile(path, 'utf8')).replaceAll(
        /import\(('mathjax-full[^']*')\)/g,
        'import($1).then((module) => module.default ?? module)',
      ),
    }));
    // Both themes are on the page; the dark one counts where the page says so.
    build.onLoad({ filter: /theme-dark-extension[\\/]style[\\/]variables\.css$/ }, async ({ path }) => ({
      loader: 'css',
      contents: (await readFile(path, 'utf8')).replaceAll(':root', ":root[data-theme='dark']"),
    }));
    // One package uses the compiler's helpers without depending on them; another, which it needs, brings them.
    build.onResolve({ filter: /^tslib$/ }, ({ path, kind, importer, pluginData }) =>
      pluginData === 'brought' || importer.includes('fast-foundation')
        ? undefined
        : build.resolve(path, {
            kind,
            importer,
            resolveDir: join(packageFolder, 'node_modules', '@microsoft', 'fast-foundation'),
            pluginData: 'brought',
          }),
    );
    // Icon fonts for toolbars of others' extensions.
    build.onLoad({ filter: /fontawesome-free[\\/]css[\\/].*\.css$/ }, () => ({
      contents: '',
      loader: 'css',
    }));
    // Loaded as it is, when the first figure is drawn: it is minified already.
    build.onResolve({ filter: /^plotly\.js-dist-min$/ }, ({ importer }) => ({
      path: createRequire(importer === '' ? import.meta.url : importer).resolve('plotly.js-dist-min'),
    }));
  },
};

async function readStamp(): Promise<Stamp | undefined> {
  return readFile(join(pageFolder, stampName), 'utf8').then(
    (text) => JSON.parse(text) as Stamp,
    () => undefined,
  );
}

async function isFresh(stamp: Stamp): Promise<boolean> {
  const states = await Promise.all(
    Object.entries(stamp).map(async ([path, state]) => (await stateOf(join(packageFolder, path))) === state),
  );
  return states.every(Boolean);
}

async function stateOf(path: string): Promise<string | undefined> {
  return stat(path).then(
    ({ size, mtimeMs }) => `${size} bytes, ${mtimeMs}`,
    () => undefined,
  );
}
