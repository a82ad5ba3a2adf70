import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import type { runDecide as RunDecide } from '../../toolkit/notebook/commands/decide-command.js';
import { parseNotebook } from '../../toolkit/notebook/document/notebook-file.js';

// A notebook takes about 10 s of two free cores; the machine may be shared.
vi.setConfig({ testTimeout: 180_000 });

// Kernels are processes of the built toolkit, which plain Node can run; the source is only read here.
if (!existsSync('dist/toolkit/notebook/commands/decide-command.js'))
  throw new Error('notebooks run on the built toolkit, and dist/ is missing: run `npm run build` first');
const built = async <Module>(path: string): Promise<Module> =>
  (await import(pathToFileURL(resolve('dist/toolkit/notebook', path)).href)) as Module;
const { startKernel } =
  await built<typeof import('../../toolkit/notebook/kernel/kernel.js')>('kernel/kernel.js');
const { executeNotebook } = await built<typeof import('../../toolkit/notebook/document/execute-notebook.js')>(
  'document/execute-notebook.js',
);
const { runDecide } = await built<{ runDecide: typeof RunDecide }>('commands/decide-command.js');

const notebooks = (await readdir('notebooks', { recursive: true }))
  .filter((name) => name.endsWith('.ipynb'))
  .sort();

interface Terminal {
  readonly exitCode: number;
  readonly printed: string;
  readonly printedErrors: string;
}

async function start(args: readonly string[], typedIn: string): Promise<Terminal> {
  const printed: string[] = [];
  const errors: string[] = [];
  const exitCode = await runDecide([...args, '--no-open'], {
    typedIn,
    environment: {},
    print: (line) => printed.push(line),
    printError: (line) => errors.push(line),
  });
  return { exitCode, printed: printed.join('\n'), printedErrors: errors.join('\n') };
}

describe('the notebooks', () => {
  it('exist', () => {
    expect(notebooks).toContain('01-from-logs-to-a-cap.ipynb');
  });

  it.each(notebooks)('%s is committed without outputs', async (name) => {
    const { cells } = parseNotebook(await readFile(join('notebooks', name), 'utf8'), name);
    for (const cell of cells.filter(({ cell_type }) => cell_type === 'code')) {
      expect(cell.outputs).toEqual([]);
      expect(cell.execution_count).toBeNull();
    }
  });

  // The first runs in the test of the command below.
  it.each(notebooks.filter((name) => !name.startsWith('01-')))('%s runs from top to bottom', async (name) => {
    const path = resolve('notebooks', name);
    const kernel = await startKernel({ workingDirectory: dirname(path) });
    try {
      const { failure } = await executeNotebook(parseNotebook(await readFile(path, 'utf8'), name), kernel, {
        cellTimeoutS: 60,
      });
      expect(failure).toBeUndefined();
    } finally {
      await kernel.stop();
    }
  });
});

describe("a person's own logs", () => {
  const numbered = notebooks.filter((name) => /^0\d-/.test(name));

  it.each(numbered)('go into the first code cell of %s: no other cell knows the demo', async (name) => {
    const { cells } = parseNotebook(await readFile(join('notebooks', name), 'utf8'), name);
    const code = cells.filter(({ cell_type }) => cell_type === 'code').map(({ source }) => source);
    const [first, ...others] = code;
    expect(first).toMatch(/^const logs = /m);
    expect(first).toMatch(/^const howToRead: /m);
    for (const cell of others) {
      expect(cell).not.toMatch(/datasets-demo|\b(tower|flat|loop|drawer|puppet|118)\b/i);
      for (const [call] of cell.matchAll(/readRuns\([^)]*/g)) expect(call).toContain('howToRead');
    }
  });

  // Those that ask most of their logs; here: two caps of one cooler, no frequency, no fan speeds, nothing logged later.
  it.each(['06', '08'])('run through notebook %s with what they have', async (number) => {
    const folder = await mkdtemp(join(tmpdir(), 'kpw-own-'));
    for (const capW of [65, 50]) {
      const withoutFrequency = loggedRun(capW).replaceAll(/,[^,\n]*$/gm, '');
      await writeFile(join(folder, `rehearsal-${capW}.csv`), withoutFrequency);
      await writeFile(
        join(folder, `rehearsal-${capW}.conditions.json`),
        JSON.stringify({ cooler: 'plate', ambientC: 23, powerCapW: capW }),
      );
    }
    const name = numbered.find((one) => one.startsWith(number))!;
    const notebook = parseNotebook(await readFile(join('notebooks', name), 'utf8'), name);
    const first = notebook.cells.findIndex(({ cell_type }) => cell_type === 'code');
    const source = notebook.cells[first].source
      .replace(/const logs = [\s\S]*?;\n/, 'const logs = ["rehearsal-65.csv", "rehearsal-50.csv"];\n')
      .replace(/const (fanLogs|laterLogs): string\[\] = [\s\S]*?;/g, 'const $1: string[] = [];')
      .replace(/usefulCapW = \d+/, 'usefulCapW = 40')
      .replaceAll(/defaultCapW: \d+/g, 'defaultCapW: 65');
    const cells = notebook.cells.map((cell, i) => (i === first ? { ...cell, source } : cell));
    const kernel = await startKernel({ workingDirectory: folder });
    try {
      const { failure } = await executeNotebook({ ...notebook, cells }, kernel, { cellTimeoutS: 60 });
      expect(failure).toBeUndefined();
    } finally {
      await kernel.stop();
      await rm(folder, { recursive: true });
    }
  });
});

describe('npm run notebooks', () => {
  it('fails with cell, line and message, and runs notebooks that lie anywhere', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'kpw-notebooks-'));
    const cell = (source: string): object => ({ cell_type: 'code', metadata: {}, source, outputs: [] });
    const sources = [
      'const limitC: number = kpw.convertUnit(358.15, { from: "K", to: "°C" });',
      '// a comment\nthrow new Error("on purpose");',
      '"never run"',
    ];
    const text = JSON.stringify({ nbformat: 4, nbformat_minor: 5, metadata: {}, cells: sources.map(cell) });
    await writeFile(join(folder, 'fails.ipynb'), text);
    const command = [resolve('dist/toolkit/notebook/commands/run-notebooks.js'), 'fails.ipynb'];
    const { INIT_CWD: _, ...environment } = process.env;
    const options = { cwd: folder, env: environment, encoding: 'utf8' } as const;
    const missing = spawnSync(process.execPath, [command[0], 'gone.ipynb'], options);
    expect(missing.stderr).toBe(
      'npm run notebooks: `gone.ipynb` must be a notebook file that can be read (received "no such file")\n',
    );
    const { status, stdout, stderr } = spawnSync(process.execPath, command, options);
    expect(stderr).toMatch(/^fails\.ipynb, cell 2, line 2: Error: on purpose$/m);
    expect(stdout).toMatch(/^ {2}1\/3 .* const limitC/m);
    expect(stdout).toMatch(/^1 of 1 failed$/m);
    expect(stdout).not.toMatch(/never run/);
    expect(status).toBe(1);
    expect(await readFile(join(folder, 'fails.ipynb'), 'utf8')).toBe(text);
    await rm(folder, { recursive: true });
  });
});

describe('npm run decide', () => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'kpw-start-'));
  });
  afterAll(() => rm(folder, { recursive: true }));

  it('runs the first notebook on the demo logs, says the caps and cautions and writes the page', async () => {
    const page = join(folder, 'demo.html');
    const startMs = performance.now();
    const { exitCode, printed, printedErrors } = await start(['--out', page], process.cwd());
    const durationS = (performance.now() - startMs) / 1000;
    expect(printedErrors).toBe('');
    expect(exitCode).toBe(0);
    for (const cooler of ['flat 41 mm', 'flat 58 mm', 'tower 88 mm', 'loop with 140 mm radiator'])
      expect(printed).toMatch(new RegExp(`^${cooler}.*: \\d+ W$`, 'm'));
    expect(printed.replaceAll(/\s+/g, ' ')).toMatch(/stays at or below 85 °C with 95 % confidence/);
    // The highest cap first, as in the tables of the page.
    const capsW = [...printed.matchAll(/^\S.*: (\d+) W$/gm)].map(([, capW]) => Number(capW));
    expect(capsW).toHaveLength(4);
    expect(capsW).toEqual([...capsW].sort((a, b) => b - a));
    expect(printed).toMatch(/Cautions\n {2}- /);
    expect(printed).toContain(page);
    // The demo has runs cut short, drifting and held back.
    expect(printed).toMatch(/^\d+ findings about logs and models may change the answer: read the page/m);
    const html = await readFile(page, 'utf8');
    expect(html).toContain('<h1>From logs to a power cap</h1>');
    expect(html.match(/id="figure-\d+"/g)?.length).toBeGreaterThan(8);
    // The cautions stand with the answer, in the words of the command.
    const answer = html.slice(html.indexOf('<h2>The answer</h2>'), html.indexOf('<h2>The way there</h2>'));
    expect(answer).toMatch(/<li class="warning"><strong>warning<\/strong>Stay within the makers&#39; limits/);
    // The run in which the cooler did not suffice is named, and runs that end before they settle.
    expect(html).toMatch(/flat-41-at-118w: From [\d.]+ to [\d.]+\ss: [^<]*95/);
    expect(html).toMatch(/At the end of the load: /);
    expect(printed).not.toContain('replaced');
    // The page is self-contained: it loads nothing.
    expect(html).not.toMatch(/<(script|link|img|iframe)[^>]+(src|href)="(https?:)?\/\//);
    // 30 s is what the notebook may take on two free cores; the test machine may be busy.
    expect(durationS).toBeLessThan(90);
  });

  it("takes a person's own logs: one cooler, no drawer, no throughput, conditions beside the logs", async () => {
    for (const [name, capW] of [
      ['evening', 95],
      ['matinee', 72],
    ] as const) {
      await writeFile(join(folder, `${name}.csv`), loggedRun(capW));
      await writeFile(
        join(folder, `${name}.conditions.json`),
        JSON.stringify({ cooler: 'flat 41 mm', ambientC: 23, powerCapW: capW }),
      );
    }
    const args = [
      'evening.csv',
      'matinee.csv',
      '--limit',
      '85',
      '--ambient',
      '24..28',
      '--default-cap',
      '118',
    ];
    const { exitCode, printed, printedErrors } = await start(args, folder);
    expect(printedErrors).toBe('');
    expect(exitCode).toBe(0);
    expect(printed).toMatch(/^flat 41 mm.*: \d+ W$/m);
    expect(printed).toMatch(/Open bench: .*give\s+`--enclosure-rise` for the place/);
    const page = await readFile(join(folder, 'from-logs-to-a-cap.html'), 'utf8');
    expect(page).toContain('limitC: 85');
    expect(page).toContain('evening');
    expect(page).not.toContain('datasets-demo/flat');
    // Nothing on the page tells where on whose disk the logs were.
    expect(page).not.toContain(folder);
  });

  it('takes the default cap from the conditions, and without one stops at the highest power logged', async () => {
    const question = ['--limit', '95', '--ambient', '20', '--out', join(folder, 'bound.html')];
    const conditions = { cooler: 'flat 41 mm', ambientC: 23, powerCapW: 95 };
    await writeFile(join(folder, 'bound.csv'), loggedRun(95));
    const ask = async (more: object): Promise<string> => {
      await writeFile(join(folder, 'bound.conditions.json'), JSON.stringify({ ...conditions, ...more }));
      const { printed, printedErrors } = await start(['bound.csv', ...question], folder);
      expect(printedErrors).toBe('');
      return printed.replaceAll(/\s+/g, ' ');
    };
    const logged = await ask({});
    expect(logged).toMatch(/flat 41 mm: 95 W Set the cap to 95 W, the highest step within the powers logged/);
    expect(logged).toMatch(
      /The cap stops at the highest power logged, 95(\.\d)? W, .*\(`--default-cap` or `--max-cap`\)/,
    );
    expect(logged).not.toMatch(/CapW|an earlier page was replaced/);
    const stated = await ask({ defaultCapW: 105 });
    expect(stated).toMatch(/flat 41 mm: 105 W The default cap of 105 W can stay/);
    expect(stated).toMatch(/Default cap: 105 W, from the conditions of the logs\./);
    expect(stated).toMatch(/an earlier page was replaced/);
    await writeFile(join(folder, 'other.csv'), loggedRun(72));
    const other = JSON.stringify({ ...conditions, powerCapW: 72, defaultCapW: 118 });
    await writeFile(join(folder, 'other.conditions.json'), other);
    const { printed } = await start(['bound.csv', 'other.csv', ...question], folder);
    expect(printed).toMatch(/several default caps \(105 W, 118 W\), so none is used: give `--default-cap`\./);
  });

  it('gives a cap from a log that holds the settled end only and no frequency, and says what is not known', async () => {
    const [header = '', ...rows] = withoutLastColumn(loggedRun(95)).split('\n');
    await writeFile(join(folder, 'silent.csv'), [header, ...rows.slice(700)].join('\n'));
    const args = [
      'silent.csv',
      '--cooler',
      'flat 41 mm',
      '--ambient-during-runs',
      '23',
      '--default-cap',
      '118',
    ];
    const page = join(folder, 'silent.html');
    const question = ['--limit', '80', '--ambient', '24', '--out', page];
    const { exitCode, printed, printedErrors } = await start([...args, ...question], folder);
    expect(printedErrors).toBe('');
    expect(exitCode).toBe(0);
    expect(printed).toMatch(/^flat 41 mm: \d+ W$/m);
    expect(printed).toMatch(/No power curve, so the caps come without frequency and cost/);
    expect(printed.replaceAll(/\s+/g, ' ')).toMatch(/log the core frequency, .*at two or more caps/);
    expect(printed).not.toMatch(/Cores run/);
    const html = await readFile(page, 'utf8');
    expect(html).toMatch(/Open bench: no enclosure is given[^<]*<code>--enclosure-rise<\/code>/);
    expect(html).toContain('The logs do not tell the frequency at these caps');
    expect(html).toContain('Nothing to draw: these logs begin in the middle of a load');
    expect(html).not.toContain('not identifiable MHz');
  });

  it('asks for what it may not guess, before anything runs', async () => {
    await writeFile(join(folder, 'bare.csv'), loggedRun(95));
    const { exitCode, printedErrors, printed } = await start(
      ['bare.csv', '--limit', '85', '--ambient', '23'],
      folder,
    );
    expect(exitCode).toBe(1);
    expect(printed).toBe('');
    expect(printedErrors).toMatch(/bare\.conditions\.json/);
    expect(printedErrors).not.toMatch(/\n\s+at /);
  });

  it.each([
    [
      'a log that is not there',
      ['no.csv', '--limit', '85', '--ambient', '23'],
      /no\.csv: there is no such file/,
    ],
    ['a pattern', ['*.cvs', '--limit', '85', '--ambient', '23'], /no file fits this pattern; logs end with/],
    ['an empty log', ['empty.csv', '--limit', '85', '--ambient', '23'], /empty\.csv: .*empty/],
    ['a log without numbers', ['words.csv', '--limit', '85', '--ambient', '23'], /words\.csv: /],
    [
      'a log given twice',
      ['evening.csv', './evening.csv', '--limit', '85', '--ambient', '23'],
      /`logs` must be given once each/,
    ],
    [
      'two columns for one role',
      ['twofold.csv', '--limit', '85', '--ambient', '23'],
      /^twofold\.csv: line 1, column 5: .*; add --column temperature=package_temperature_c with the one you mean$/,
    ],
    [
      'an option without its value',
      ['--limit', '--ambient', '23'],
      /`--limit` must be followed by its value/,
    ],
    ['an unknown option', ['--limt', '85'], /`--limt` must be one of the known options/],
    ['no limit', ['a.csv', '--ambient', '23'], /`--limit` must be given/],
    ['a negative confidence', ['--confidence=-1'], /`--confidence` must be a number above 0 and below 1/],
    ['a page that is not ours', ['--out', 'letter.html'], /`--out` must be a new file or an earlier page/],
  ])('refuses %s with the remedy and without a stack', async (_, args, message) => {
    await writeFile(join(folder, 'empty.csv'), '');
    await writeFile(join(folder, 'words.csv'), 'dear,aunt,how\nare,you,all\n');
    await writeFile(join(folder, 'letter.html'), '<h1>Dear aunt</h1>');
    const [header, ...rows] = loggedRun(95).trimEnd().split('\n');
    const twofold = [`${header},die_b_temperature_c`, ...rows.map((row) => `${row},50`)].join('\n');
    await writeFile(join(folder, 'twofold.csv'), `${twofold}\n`);
    const { exitCode, printedErrors, printed } = await start(args, folder);
    expect(exitCode).toBe(1);
    expect(printed).toBe('');
    expect(printedErrors).toMatch(message);
    expect(printedErrors).not.toMatch(/\n\s+at /);
  });

  it('names a cooler without a model and goes on with the others, whatever their names hold', async () => {
    const hostile = `o'neil "<script>alert(1)<` + `script> $x \`ls\``;
    const logs = [`${hostile}.csv`, 'stub.csv'];
    await writeFile(join(folder, logs[0]), loggedRun(95).replace('core_f', '</script><b>core_f'));
    await writeFile(join(folder, 'stub.csv'), loggedRun(95).split('\n').slice(0, 4).join('\n'));
    const conditions = { cooler: '</script><img src=x>', ambientC: 23 };
    await writeFile(join(folder, `${hostile}.conditions.json`), JSON.stringify(conditions));
    await writeFile(join(folder, 'stub.conditions.json'), '{ "cooler": "stub", "ambientC": 23 }');
    const page = join(folder, 'hostile.html');
    const { exitCode, printed, printedErrors } = await start(
      [...logs, '--limit', '85', '--ambient', '23', '--out', page],
      folder,
    );
    expect(printedErrors).toBe('');
    expect(exitCode).toBe(0);
    expect(printed).toMatch(/^<\/script><img src=x>: \d+ W$/m);
    expect(printed).toMatch(/^stub: no model\. fitCooler: `runs` must be runs with at least 20 samples/m);
    const html = await readFile(page, 'utf8');
    expect(html).not.toMatch(/<img src=x|<\/script><b>|<script>alert/);
  });

  it('says of a limit below the room that no cap can hold it', async () => {
    const args = ['evening.csv', '--limit', '20', '--ambient', '25'];
    const { exitCode, printedErrors } = await start(args, folder);
    expect(exitCode).toBe(1);
    expect(printedErrors).toMatch(
      /^npm run decide: `--limit` must be above the room air of 25 °C \(received 20\)/,
    );
    expect(printedErrors).not.toMatch(/\n\s+at /);
  });

  it('explains itself', async () => {
    const { exitCode, printed } = await start(['--help'], folder);
    expect(exitCode).toBe(0);
    expect(printed).toMatch(/npm run decide -- my-logs\/\*\.csv --limit 85 --ambient 23/);
  });
});

function withoutLastColumn(log: string): string {
  return log.replaceAll(/,[^,\n]*$/gm, '');
}

/** A run of a cooler of 0.62 K/W with two time constants, once a second for 20 minutes, a little noise. */
function loggedRun(capW: number): string {
  const rows = Array.from({ length: 1200 }, (_, i) => {
    const powerW = (i < 30 ? 16 : capW) + 0.3 * Math.sin(i * 12.9898);
    const t = Math.max(0, i - 30);
    const rise = 0.2 * (1 - Math.exp(-t / 8)) + 0.42 * (1 - Math.exp(-t / 190));
    const temperatureC = 23 + 16 * 0.62 + (capW - 16) * rise + 0.2 * Math.sin(i * 78.233);
    const frequencyMHz = i < 30 ? 1400 : 3900 * (capW / 110) ** 0.4 - 5 * (temperatureC - 70);
    return `${i},${temperatureC.toFixed(2)},${powerW.toFixed(2)},${frequencyMHz.toFixed(0)}`;
  });
  return `time_s,package_temperature_c,package_power_w,core_frequency_mhz\n${rows.join('\n')}\n`;
}
