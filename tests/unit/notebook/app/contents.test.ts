import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { chmod, mkdir, readdir, readFile, rm, stat, utimes, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { diskProblem } from '../../../../toolkit/notebook/app/server/disk-problem.js';
import { HttpError } from '../../../../toolkit/notebook/app/server/http-error.js';
import { Signatures } from '../../../../toolkit/notebook/app/server/signatures.js';
import { startTestServer, type TestServer } from './test-server.js';

let server: TestServer;

beforeAll(async () => {
  server = await startTestServer();
});
afterAll(() => server.close());

const codeCell = (source: string, more: object = {}): object => ({
  cell_type: 'code',
  id: 'a',
  metadata: {},
  source,
  outputs: [],
  execution_count: null,
  ...more,
});
const notebookOf = (...cells: readonly object[]): object => ({
  nbformat: 4,
  nbformat_minor: 5,
  metadata: { kernelspec: { name: 'kelvin-per-watt' } },
  cells,
});
const save = (path: string, content: object, more: object = {}) =>
  server.ask('PUT', `/api/contents/${path}`, {
    body: { type: 'notebook', format: 'json', content, ...more },
  });
const outputHtml = {
  output_type: 'display_data',
  metadata: {},
  data: { 'text/html': '<script>alert(1)</script>', 'text/plain': 'x' },
};

describe('the list of notebooks', () => {
  it('creates, duplicates, renames and deletes, each under a name that is free', async () => {
    const first = await server.ask('POST', '/api/contents', { body: { type: 'notebook' } });
    expect(first.status).toBe(201);
    expect(first.json.path).toBe('untitled.ipynb');
    expect((await server.ask('POST', '/api/contents', { body: { type: 'notebook' } })).json.path).toBe(
      'untitled-2.ipynb',
    );
    const copy = await server.ask('POST', '/api/contents', { body: { copy_from: 'untitled.ipynb' } });
    expect(copy.json.path).toBe('untitled-copy.ipynb');
    const body = { path: 'my run.ipynb' };
    expect((await server.ask('PATCH', '/api/contents/untitled.ipynb', { body })).json.path).toBe(
      'my run.ipynb',
    );
    expect((await server.ask('PATCH', '/api/contents/untitled-2.ipynb', { body })).status).toBe(409);
    const named = async (path: string) =>
      (await server.ask('PATCH', '/api/contents/untitled-2.ipynb', { body: { path } })).json.message;
    expect(await named('.evening.ipynb')).toMatch(
      /^“\.evening\.ipynb” cannot be a name here: names begin without/,
    );
    expect(await named('acts/evening.ipynb')).toBe(
      'The folder of “acts/evening.ipynb” is not there: make it first.',
    );
    expect((await server.ask('DELETE', '/api/contents/my%20run.ipynb')).status).toBe(204);
    expect((await server.ask('GET', '/api/contents/my%20run.ipynb')).status).toBe(404);
    expect((await server.ask('DELETE', '/api/contents/my%20run.ipynb')).status).toBe(404);
  });

  it('deletes no folder that holds something', async () => {
    await mkdir(join(server.folder, 'full'));
    await writeFile(join(server.folder, 'full', 'a.csv'), '');
    const answer = await server.ask('DELETE', '/api/contents/full');
    expect(answer.status).toBe(400);
    expect(answer.json.message).toBe('“full” is a folder that is not empty.');
  });

  it('keeps the whole text of a log, whatever bytes it has', async () => {
    const bytes = Buffer.from([0xef, 0xbb, 0xbf, 0x74, 0xb0, 0x43, 0, 0xff, 13, 10]);
    const body = { type: 'file', format: 'base64', content: bytes.toString('base64') };
    expect((await server.ask('PUT', '/api/contents/odd.csv', { body })).status).toBe(201);
    expect(await readFile(join(server.folder, 'odd.csv'))).toEqual(bytes);
    const { json } = await server.ask('GET', '/api/contents/odd.csv');
    expect([json.format, json.content]).toEqual(['base64', bytes.toString('base64')]);
  });
});

describe('a notebook on disk', () => {
  it('has its texts in lines and its names in order, and comes back whole', async () => {
    const content = notebookOf(
      codeCell('a\nb', {
        outputs: [
          { output_type: 'stream', name: 'stdout', text: 'one\ntwo\n' },
          {
            output_type: 'display_data',
            metadata: {},
            data: { 'text/html': '<b>\nx</b>', 'application/vnd.plotly.v1+json': { data: [1] } },
          },
        ],
      }),
      { cell_type: 'markdown', id: 'b', metadata: {}, source: '# T\nx' },
    );
    expect((await save('whole.ipynb', content)).status).toBe(201);
    const onDisk = await readFile(join(server.folder, 'whole.ipynb'), 'utf8');
    expect(onDisk).toMatch(/^\{\n "cells": \[\n {2}\{\n {3}"cell_type": "code",\n {3}"execution_count"/);
    const [cell] = JSON.parse(onDisk).cells;
    expect(cell.source).toEqual(['a\n', 'b']);
    expect(cell.outputs[0].text).toEqual(['one\n', 'two\n']);
    expect(cell.metadata).toEqual({});
    const { json } = await server.ask('GET', '/api/contents/whole.ipynb');
    expect(json.content.cells[0].source).toBe('a\nb');
    expect(json.content.cells[0].outputs[0].text).toBe('one\ntwo\n');
    expect(json.content.cells[0].outputs[1].data['text/html']).toBe('<b>\nx</b>');
    const again = await save('whole.ipynb', json.content);
    expect(again.status).toBe(200);
    expect(await readFile(join(server.folder, 'whole.ipynb'), 'utf8')).toBe(onDisk);
  });

  it('is never replaced by a page that has seen another state of it', async () => {
    await save('two-tabs.ipynb', notebookOf(codeCell('first')));
    const seen = (await server.ask('GET', '/api/contents/two-tabs.ipynb?content=0&hash=1')).json.hash;
    expect(
      (await save('two-tabs.ipynb', notebookOf(codeCell('tab one')), { expected_hash: seen })).status,
    ).toBe(200);
    const late = await save('two-tabs.ipynb', notebookOf(codeCell('tab two')), { expected_hash: seen });
    expect(late.status).toBe(409);
    expect(late.json.message).toMatch(/was changed on disk in the meantime; nothing was saved/);
    expect(await readFile(join(server.folder, 'two-tabs.ipynb'), 'utf8')).toContain('tab one');
  });

  it('lets only one of two saves at the same moment through', async () => {
    await save('race.ipynb', notebookOf(codeCell('first')));
    const seen = (await server.ask('GET', '/api/contents/race.ipynb?content=0&hash=1')).json.hash;
    const answers = await Promise.all(
      ['a', 'b', 'c', 'd'].map((text) =>
        save('race.ipynb', notebookOf(codeCell(text)), { expected_hash: seen }),
      ),
    );
    expect(answers.map(({ status }) => status).sort()).toEqual([200, 409, 409, 409]);
  });

  it('keeps its rights, and leaves no draft behind', async () => {
    await save('rights.ipynb', notebookOf(codeCell('x')));
    await chmod(join(server.folder, 'rights.ipynb'), 0o640);
    await save('rights.ipynb', notebookOf(codeCell('y')));
    expect((await stat(join(server.folder, 'rights.ipynb'))).mode & 0o777).toBe(0o640);
    expect((await readdir(server.folder)).filter((name) => name.endsWith('.draft'))).toEqual([]);
  });

  it('takes away what a server left that was ended in the middle of a save, and nothing else', async () => {
    const names = ['left.ipynb', 'other.ipynb'].flatMap((name) => [
      `.${name}.0123456789ab.draft`,
      `.${name}.ba9876543210.draft`,
    ]);
    for (const name of [...names, '.left.ipynb.mine.draft']) await writeFile(join(server.folder, name), '{');
    const hourAgo = new Date(Date.now() - 3_600_000);
    const [old, , ofOther] = names as [string, string, string];
    for (const name of [old, ofOther, '.left.ipynb.mine.draft'])
      await utimes(join(server.folder, name), hourAgo, hourAgo);
    expect((await save('left.ipynb', notebookOf(codeCell('1')))).status).toBeLessThan(300);
    const there = (await readdir(server.folder)).filter((name) => name.endsWith('.draft'));
    // A draft of this minute may be that of another server on the same folder.
    expect(there.sort()).toEqual([...names.filter((name) => name !== old), '.left.ipynb.mine.draft'].sort());
    for (const name of there) await rm(join(server.folder, name));
  });

  it('that is none is said to be none', async () => {
    await writeFile(join(server.folder, 'broken.ipynb'), '{"cells": [');
    await writeFile(join(server.folder, 'old.ipynb'), '{"nbformat": 3, "worksheets": []}');
    for (const name of ['broken', 'old']) {
      const answer = await server.ask('GET', `/api/contents/${name}.ipynb`);
      expect(answer.status).toBe(400);
      expect(answer.json.message).toMatch(/is no notebook that can be shown\. .*nbformat 4/);
    }
  });
});

describe('trust', () => {
  const trustedIn = async (path: string): Promise<unknown> =>
    (await server.ask('GET', `/api/contents/${path}`)).json.content.cells[0].metadata.trusted;

  it('is not taken from what a file says of itself', async () => {
    const foreign = notebookOf(codeCell('x', { metadata: { trusted: true }, outputs: [outputHtml] }));
    await writeFile(join(server.folder, 'foreign.ipynb'), JSON.stringify(foreign));
    expect(await trustedIn('foreign.ipynb')).toBe(false);
  });

  it('stays away when a foreign notebook is saved with its outputs', async () => {
    await save(
      'foreign-saved.ipynb',
      notebookOf(codeCell('x', { metadata: { trusted: false }, outputs: [outputHtml] })),
    );
    expect(await trustedIn('foreign-saved.ipynb')).toBe(false);
  });

  it('holds for what was run or trusted here, until a letter is changed elsewhere', async () => {
    await save(
      'own.ipynb',
      notebookOf(codeCell('x', { metadata: { trusted: true }, outputs: [outputHtml] })),
    );
    expect(await trustedIn('own.ipynb')).toBe(true);
    const path = join(server.folder, 'own.ipynb');
    await writeFile(path, (await readFile(path, 'utf8')).replace('alert(1)', 'alert(2)'));
    expect(await trustedIn('own.ipynb')).toBe(false);
  });

  it('holds until the server ends where nothing can be remembered', async () => {
    // A file where the folder should be.
    const blocked = join(server.outside, 'blocked');
    await writeFile(blocked, '');
    const signatures = new Signatures(join(blocked, 'user'));
    await signatures.add('a notebook');
    expect(await signatures.has('a notebook')).toBe(true);
    expect(await signatures.has('another')).toBe(false);
    expect(await new Signatures(join(blocked, 'user')).has('a notebook')).toBe(false);
  });

  it('is remembered in files that only the person can read', async () => {
    for (const name of ['signature-key', 'signatures.txt'])
      expect((await stat(join(server.outside, 'user', name))).mode & 0o077).toBe(0);
  });
});

describe('faults of the disk', () => {
  it.each([
    ['ENOSPC', 507, /the disk is full\. The last saved state is unharmed/],
    ['EACCES', 403, /protected/],
    ['EROFS', 403, /can only be read/],
    ['ENOENT', 404, /is not there/],
  ])('%s is said in words', (code, status, message) => {
    const problem = diskProblem(Object.assign(new Error('x'), { code }), 'a.ipynb');
    expect(problem).toBeInstanceOf(HttpError);
    expect((problem as HttpError).status).toBe(status);
    expect((problem as HttpError).message).toMatch(message);
  });

  it('a file that is gone can be saved again', async () => {
    await save('gone.ipynb', notebookOf(codeCell('x')));
    const seen = (await server.ask('GET', '/api/contents/gone.ipynb?content=0&hash=1')).json.hash;
    await rm(join(server.folder, 'gone.ipynb'));
    expect((await server.ask('GET', '/api/contents/gone.ipynb')).status).toBe(404);
    const again = await save('gone.ipynb', notebookOf(codeCell('x')), { expected_hash: seen });
    expect(again.status).toBe(201);
  });

  // A limit on the size of files makes the system refuse to write on, as a full disk does.
  it.runIf(process.platform === 'linux')(
    'a disk that is full leaves the last saved state whole',
    async () => {
      const path = join(server.folder, 'disk-full.ipynb');
      await writeFile(path, 'the last saved state');
      const { code, printed } = await inChild(
        `process.on('SIGXFSZ', () => {});
       const text = 'x'.repeat(4 * 1024 * 1024);
       for (const write of [writeAtomically, (path, text) => writeNew(path.replace('disk', 'new-on-disk'), text)])
         await write(${JSON.stringify(path)}, text).then(
           () => console.log('saved'),
           (problem) => console.log(problem.code),
         );`,
        'ulimit -f 64; exec "$0" "$@"',
      );
      expect([code, printed.trim()]).toEqual([0, 'EFBIG\nEFBIG']);
      expect(await readFile(path, 'utf8')).toBe('the last saved state');
      const left = (await readdir(server.folder)).filter((name) => /\.draft$|new-on-disk/.test(name));
      expect(left).toEqual([]);
    },
  );

  it('a server that is killed while it saves leaves the last saved state whole', async () => {
    const path = join(server.folder, 'killed.txt');
    for (const delayMs of [120, 170, 230]) {
      const child = startChild(
        `let n = 0;
         (async () => { for (;;) { n += 1; await writeAtomically(${JSON.stringify(path)}, String(n % 10).repeat(2_000_000)); process.stdout.write('.'); } })();`,
      );
      await new Promise((resolve) => child.stdout!.once('data', resolve));
      await pause(delayMs);
      child.kill('SIGKILL');
      await new Promise((resolve) => child.once('close', resolve));
      const text = await readFile(path, 'utf8');
      expect(text.length).toBe(2_000_000);
      expect(new Set(text).size).toBe(1);
    }
  });
});

const built = resolve('dist/toolkit/notebook/app/server/atomic-write.js');
if (!existsSync(built)) throw new Error('child processes run the built toolkit: run `npm run build` first');

function startChild(code: string, shell?: string): ReturnType<typeof spawn> {
  const program = `import { writeAtomically, writeNew } from ${JSON.stringify(pathToFileURL(built).href)};\n${code}`;
  const args = ['--input-type=module', '--eval', program];
  return shell === undefined
    ? spawn(process.execPath, args, { stdio: ['ignore', 'pipe', 'inherit'] })
    : spawn('bash', ['-c', shell, process.execPath, ...args], { stdio: ['ignore', 'pipe', 'inherit'] });
}

function inChild(
  code: string,
  shell: string,
): Promise<{ readonly code: number | null; readonly printed: string }> {
  const child = startChild(code, shell);
  let printed = '';
  child.stdout!.setEncoding('utf8').on('data', (text: string) => {
    printed += text;
  });
  return new Promise((done) => {
    child.once('close', (exitCode) => done({ code: exitCode, printed }));
  });
}
