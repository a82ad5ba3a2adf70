import { readFile } from 'node:fs/promises';
import { basename, extname, resolve, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { CapChoice } from '../../cap/choose/cap-choice.js';
import { figureOfComparison } from '../../figures/figure-of-comparison.js';
import { scenarioInWords } from '../../figures/scenario-in-words.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import type { ReportItem } from '../../report/page/report-html.js';
import { writeReport } from '../../report/page/write-report-node.js';
import { highestCapFirst } from '../../report/tables/highest-cap-first.js';
import { tableOfChoices } from '../../report/tables/table-of-choices.js';
import { capChoicesMimeType } from '../display/display-bundle.js';
import { type Notebook, parseNotebook } from '../document/notebook-file.js';
import { reportOfNotebook } from '../document/notebook-report.js';
import {
  type CommandOptions,
  decideHelp,
  parseCommandOptions,
  requireNothingKeptByNpm,
} from './command-options.js';
import { failureInWords, runNotebook, type Surroundings, withClearFailures } from './notebook-command.js';
import { openPage } from './open-page.js';
import { requireUsableLogs } from './own-logs.js';
import { pagePath, requireFreePlace } from './page-place.js';
import { conditionsOf, questionOf, readingOf } from './question-of-options.js';
import { inTerminalWords } from './terminal-words.js';
import { typedLogs } from './typed-logs.js';
import { wrapped } from './wrapped.js';
import { withDemoChanges, withYourLogs } from './your-logs-cell.js';

const packageFolder = fileURLToPath(new URL('../../../../', import.meta.url));
const notebooksFolder = resolve(packageFolder, 'notebooks');
const notebookPath = resolve(notebooksFolder, '01-from-logs-to-a-cap.ipynb');
const demoFolder = resolve(packageFolder, 'dist', 'reports');

/**
 * `npm run decide`: runs the first notebook on the demo or on a person's logs and writes the page. Returns the exit code.
 */
export async function runDecide(args: readonly string[], surroundings: Surroundings): Promise<number> {
  return withClearFailures(
    async () => {
      requireNothingKeptByNpm('npm run decide', surroundings.environment);
      const options = parseCommandOptions(args, 'npm run decide');
      if (!options.help) {
        const logs = await typedLogs(options.logs, surroundings.typedIn, 'npm run decide');
        return decide({ ...options, logs }, surroundings);
      }
      surroundings.print(decideHelp);
      return 0;
    },
    (message) => surroundings.printError(inTerminalWords(message, surroundings.typedIn)),
  );
}

async function decide(options: CommandOptions, surroundings: Surroundings): Promise<number> {
  const startMs = performance.now();
  const page = pagePath({ ...options, typedIn: surroundings.typedIn, demoFolder });
  const place = await requireFreePlace(page, {
    create: options.out === undefined && options.logs.length === 0,
  });
  const notebook = await notebookFor(options, surroundings);
  // Own logs are named in the notebook, and on the page, as they were typed; a page should not tell whose disk it was.
  const isDemo = options.logs.length === 0;
  const execution = await runNotebook(notebook, {
    workingDirectory: isDemo ? notebooksFolder : surroundings.typedIn,
    cellTimeoutS: 600,
    progress: surroundings.progress,
  });
  if (execution.failure !== undefined) {
    const printed = printedBy(execution.notebook).trimEnd();
    if (printed !== '') surroundings.printError(inTerminalWords(printed, surroundings.typedIn));
    surroundings.printError(inTerminalWords(failureInWords(execution.failure), surroundings.typedIn));
    return 1;
  }
  const choices = choicesIn(execution.notebook);
  const { title, items } = reportOfNotebook(execution.notebook);
  const inWords = (text: string): string => inTerminalWords(text, surroundings.typedIn);
  await writeReport(
    page,
    [...answerFirst(choices), ...items].map((item) => findingsInWords(item, inWords)),
    { title, subtitle: subtitleOf(options.logs) },
  );
  printDecision(choices, printedBy(execution.notebook), { print: surroundings.print, inWords });
  const findingCount = findingsIn(items);
  if (findingCount > 0)
    surroundings.print(
      `${findingCount === 1 ? 'One finding' : `${findingCount} findings`} about logs and models may change the answer: read the page before you set a cap.`,
    );
  const durationS = (performance.now() - startMs) / 1000;
  surroundings.print(
    `Page with pictures, models and findings, made in ${durationS.toFixed(0)} s${place === 'replaces' ? ' (an earlier page was replaced)' : ''}: ${page}`,
  );
  if (options.open && (await openPage(page))) surroundings.print('Opened in your browser.');
  return 0;
}

/** The notebook as it is for the demo; with its first cell written anew for a person's own logs. */
async function notebookFor(options: CommandOptions, surroundings: Surroundings): Promise<Notebook> {
  const notebook = parseNotebook(await readFile(notebookPath, 'utf8'), notebookPath);
  const question = questionOf(options);
  const conditions = conditionsOf(options);
  const howToRead = readingOf(options);
  if (options.logs.length === 0)
    return withDemoChanges(notebook, { question, whatTheLogsDoNotSay: conditions, howToRead });
  const paths = options.logs.map((path) => resolve(surroundings.typedIn, path));
  await requireUsableLogs(paths, conditions, surroundings.typedIn, howToRead);
  return withYourLogs(notebook, {
    logs: options.logs.map((path) => path.replaceAll(sep, '/')),
    whatTheLogsDoNotSay: conditions,
    howToRead,
    question: { limitC: Number.NaN, ambientC: Number.NaN, ...question },
  });
}

/** The decision: the first caps the notebook shows. */
function choicesIn(notebook: Notebook): readonly CapChoice[] {
  for (const { outputs = [] } of notebook.cells)
    for (const output of outputs)
      if ('data' in output && capChoicesMimeType in output.data)
        return output.data[capChoicesMimeType] as readonly CapChoice[];
  return [];
}

/** How many different findings the page shows that are more than notes; cautions are printed in full. */
function findingsIn(items: readonly ReportItem[]): number {
  const findings = items.flatMap((item) => (item.kind === 'findings' ? item.findings : []));
  const telling = findings.filter(({ code, severity }) => code !== 'caution' && severity !== 'note');
  return new Set(telling.map(({ message }) => message)).size;
}

/** What the notebook printed, in order. */
function printedBy(notebook: Notebook): string {
  const outputs = notebook.cells.flatMap((cell) => cell.outputs ?? []);
  return outputs.map((output) => (output.output_type === 'stream' ? output.text : '')).join('');
}

/** A reader of the page wants the answer before the way to it. */
function answerFirst(choices: readonly CapChoice[]): readonly ReportItem[] {
  const [first] = choices;
  if (first === undefined) return [];
  const { limitC } = first.scenario;
  return [
    { kind: 'heading', text: 'The answer' },
    {
      kind: 'markdown',
      text: `At most ${formatNumber(limitC, '°C')} on the die. ${scenarioInWords(first.scenario)}`,
    },
    { kind: 'table', table: tableOfChoices(choices) },
    { kind: 'figure', figure: figureOfComparison(choices) },
    { kind: 'heading', level: 3, text: 'Cautions: they come before any number' },
    {
      kind: 'findings',
      findings: cautionsOf(choices).map((message) => ({ code: 'caution', severity: 'warning', message })),
    },
    { kind: 'heading', text: 'The way there' },
  ];
}

function subtitleOf(logs: readonly string[]): string {
  if (logs.length === 0)
    return 'The demo: the show-control computer of a puppet theatre. Every number is invented.';
  const names = logs.map((path) => basename(path, extname(path)));
  const shown =
    names.length > 6 ? `${names.slice(0, 5).join(', ')} and ${names.length - 5} more` : names.join(', ');
  return `From ${names.length === 1 ? 'one log' : `${names.length} logs`}: ${shown}.`;
}

function printDecision(
  choices: readonly CapChoice[],
  printedByNotebook: string,
  { print, inWords }: { readonly print: (line: string) => void; readonly inWords: (text: string) => string },
): void {
  for (const choice of highestCapFirst(choices)) {
    print(inWords(`${choice.cooler}: ${choice.powerCapW} W`));
    print(wrapped(inWords(choice.summary), { indent: '  ' }));
  }
  for (const line of printedByNotebook.trimEnd().split('\n')) if (line !== '') print(inWords(line));
  const cautions = cautionsOf(choices);
  if (cautions.length === 0) return;
  print('');
  print('Cautions');
  for (const caution of cautions) print(wrapped(inWords(caution), { indent: '    ', firstIndent: '  - ' }));
  print('');
}

/** What to heed, with the coolers it is about; what holds for every cooler is said once, not once per cooler. */
function cautionsOf(choices: readonly CapChoice[]): readonly string[] {
  return [...new Set(choices.flatMap((choice) => choice.cautions))].map((caution) => {
    const holders = choices.filter((choice) => choice.cautions.includes(caution));
    return holders.length === choices.length
      ? caution
      : `${holders.map(({ cooler }) => cooler).join(', ')}: ${caution}`;
  });
}

/** The page is for somebody who typed a command: its findings name options as the terminal does. */
function findingsInWords(item: ReportItem, inWords: (text: string) => string): ReportItem {
  if (item.kind !== 'findings') return item;
  const findings = item.findings.map(({ message, remedy, ...rest }) => ({
    ...rest,
    message: inWords(message),
    ...(remedy === undefined ? {} : { remedy: inWords(remedy) }),
  }));
  return { ...item, findings };
}
