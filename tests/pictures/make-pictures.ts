// `npm run pictures`: the pictures of the README, made from the demo logs by the functions that answer for them.
import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdir, mkdtemp, readdir, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { promisify } from 'node:util';
import {
  type CapChoice,
  chooseCap,
  type Figure,
  figureOfCapChoice,
  fitCooler,
  fitPowerCurve,
} from '../../toolkit/index.js';
import { readRuns } from '../../toolkit/node.js';
import { plotlyPath } from '../../toolkit/report/plotly-node.js';

const repository = fileURLToPath(new URL('../../../', import.meta.url));
const demoFolder = join(repository, 'datasets-demo');
const picture = join(repository, 'notebooks', 'pictures', 'cap-of-the-tower.png');

// As wide as a README is read, at twice the pixels; light, because a README page may be either.
const widthPx = 880;
const marginPx = 12;
const pixelsPerPx = 2;

/** The tower of the demo in the shut drawer: the question of the first notebook. */
async function capOfTheTower(): Promise<CapChoice> {
  const logs = (await readdir(demoFolder)).filter((name) => name.endsWith('.csv')).sort();
  const runs = await readRuns(logs.map((name) => join(demoFolder, name)));
  const tower = runs.filter((run) => run.conditions.cooler === 'tower 88 mm');
  return chooseCap(fitCooler(tower), fitPowerCurve(runs), {
    limitC: 85,
    ambientC: 26,
    enclosure: { riseK: { low: 8.5, high: 11 }, atPowerW: 95 },
    confidence: 0.95,
    stepW: 1,
    defaultCapW: 118,
  });
}

/** A page that holds the figure alone, in its own height. */
function pageOf(figure: Figure): string {
  const layout = { ...figure.layout, width: widthPx - 2 * marginPx, autosize: false };
  const drawing = JSON.stringify({ data: figure.data, layout, config: { staticPlot: true } });
  return `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>picture</title>
<style>body { margin: ${marginPx}px; background: #fff }</style>
<script src="${pathToFileURL(plotlyPath()).href}"></script></head>
<body><div id="figure"></div>
<script>const { data, layout, config } = ${drawing.replaceAll('<', '\\u003c')};
Plotly.newPlot('figure', data, layout, config);</script></body></html>`;
}

/** Photographs a figure with a headless Chromium. */
async function photograph(chromium: string, figure: Figure, path: string): Promise<void> {
  const folder = await mkdtemp(join(tmpdir(), 'kelvin-per-watt-picture-'));
  const page = join(folder, 'page.html');
  await writeFile(page, pageOf(figure));
  await mkdir(dirname(path), { recursive: true });
  const asRoot = process.getuid?.() === 0;
  try {
    await promisify(execFile)(
      chromium,
      [
        '--headless',
        '--hide-scrollbars',
        '--disable-gpu',
        // Chromium refuses its sandbox to the administrator, who is alone in a container.
        ...(asRoot ? ['--no-sandbox'] : []),
        `--user-data-dir=${join(folder, 'profile')}`,
        `--force-device-scale-factor=${pixelsPerPx}`,
        `--window-size=${widthPx},${figure.layout.height + 2 * marginPx}`,
        '--virtual-time-budget=10000',
        `--screenshot=${path}`,
        pathToFileURL(page).href,
      ],
      { timeout: 60_000 },
    );
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

async function main(): Promise<number> {
  const chromium = process.env['CHROMIUM'];
  if (chromium === undefined || !existsSync(chromium)) {
    const found = chromium === undefined ? 'it is not set' : `there is no ${chromium}`;
    console.error(
      `npm run pictures: the environment variable CHROMIUM must be the path of a Chromium (${found}); for example CHROMIUM=/usr/bin/chromium npm run pictures`,
    );
    return 1;
  }
  const choice = await capOfTheTower();
  await photograph(chromium, figureOfCapChoice(choice, { place: 'in the shut drawer' }), picture);
  const { size } = await stat(picture);
  console.log(`${picture}: ${Math.round(size / 1000)} kB; ${choice.summary}`);
  return 0;
}

process.exitCode = await main();
