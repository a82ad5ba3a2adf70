import { execFile } from 'node:child_process';
import { mkdir, readFile, readlink, rm, rmdir, symlink, writeFile } from 'node:fs/promises';
import { connect } from 'node:net';
import { networkInterfaces } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readPlainFile } from '../../../../toolkit/notebook/app/server/read-plain-file.js';
import { jsonBody, mostBodyBytes } from '../../../../toolkit/notebook/app/server/request-body.js';
import { isServedName } from '../../../../toolkit/notebook/app/server/served-folder.js';
import { startTestServer, type TestServer } from './test-server.js';

let server: TestServer;

beforeAll(async () => {
  server = await startTestServer();
  await writeFile(join(server.folder, 'run.csv'), 'time_s,temperature_c\n0,30\n');
  await writeFile(join(server.folder, '.secret'), 'must not be seen');
  await writeFile(join(server.outside, 'outside.txt'), 'must not be seen');
  await mkdir(join(server.folder, '.hidden'));
  await writeFile(join(server.folder, '.hidden', 'key.txt'), 'must not be seen');
  await symlink(join(server.outside, 'outside.txt'), join(server.folder, 'leads-out.txt'));
  await symlink(server.outside, join(server.folder, 'folder-out'));
  await symlink(join(server.folder, '.hidden', 'key.txt'), join(server.folder, 'leads-to-hidden.txt'));
  await symlink(join(server.folder, 'run.csv'), join(server.folder, 'leads-inside.csv'));
});
afterAll(() => server.close());

describe('who may ask', () => {
  it('answers on the loopback address only', async () => {
    const others = Object.values(networkInterfaces())
      .flat()
      .filter((one) => one !== undefined && !one.internal && one.family === 'IPv4');
    for (const { address } of others as { address: string }[])
      await expect(
        new Promise((resolve, reject) => {
          const socket = connect(server.app.port, address, () => {
            socket.destroy();
            resolve('connected');
          });
          socket.on('error', reject);
        }),
      ).rejects.toThrow(/ECONNREFUSED|EHOSTUNREACH|ETIMEDOUT/);
    expect(new URL(server.app.link()).hostname).toBe('127.0.0.1');
  });

  it('refuses whoever lacks the secret, for the page, the interface and files alike', async () => {
    for (const path of ['/', '/api/contents', '/api/kernels', '/files/run.csv', '/page/app.js', '/nothing']) {
      const answer = await server.ask('GET', path, { anonymous: true });
      expect([path, answer.status]).toEqual([path, 403]);
      expect(answer.json.message).toMatch(/link that the server printed/);
    }
    for (const token of ['', 'x', `${server.token}x`, server.token.slice(1)])
      expect((await server.ask('GET', `/?token=${token}`, { anonymous: true })).status).toBe(403);
  });

  it('trades the secret for a cookie that scripts cannot read and other sites do not send', async () => {
    const first = await server.ask('GET', `/?token=${server.token}&notebook=a.ipynb`, { anonymous: true });
    expect(first.status).toBe(302);
    expect(first.headers.location).toBe('/?notebook=a.ipynb');
    const [cookie] = first.headers['set-cookie'] ?? [];
    expect(cookie).toMatch(/; HttpOnly; SameSite=Lax; Path=\/$/);
    const name = cookie.split(';')[0];
    expect(name).toContain(String(server.app.port));
    const page = await server.ask('GET', '/', { anonymous: true, headers: { Cookie: `other=1; ${name}` } });
    expect(page.status).toBe(200);
    expect(page.text).not.toContain(server.token);
  });

  it.each(['evil.example', 'evil.example:80', '127.0.0.1', '127.0.0.1:1', '[::1]:80'])(
    'refuses the host name %s, which only a rebound name would bring',
    async (Host) => {
      const answer = await server.ask('GET', '/api/contents', { headers: { Host } });
      expect(answer.status).toBe(403);
      expect(answer.json.message).toMatch(/own address/);
    },
  );

  it.each(['http://evil.example', 'null', 'http://127.0.0.1:1', 'https://127.0.0.1'])(
    'refuses requests of pages from %s',
    async (Origin) => {
      const answer = await server.ask('GET', '/api/contents', { headers: { Origin } });
      expect(answer.status).toBe(403);
      expect(answer.json.message).toMatch(/other sites/);
    },
  );

  it('accepts its own page under both of its names', async () => {
    for (const name of ['127.0.0.1', 'localhost']) {
      const host = `${name}:${server.app.port}`;
      const headers = { Host: host, Origin: `http://${host}`, 'Sec-Fetch-Site': 'same-origin' };
      expect((await server.ask('GET', '/api/contents', { headers })).status).toBe(200);
    }
  });

  it('refuses what another site makes the browser ask, but not a link that is followed', async () => {
    const headers = { 'Sec-Fetch-Site': 'cross-site', 'Sec-Fetch-Mode': 'no-cors' };
    expect((await server.ask('GET', '/api/contents', { headers })).status).toBe(403);
    const navigation = { 'Sec-Fetch-Site': 'cross-site', 'Sec-Fetch-Mode': 'navigate' };
    expect((await server.ask('GET', '/', { headers: navigation })).status).toBe(200);
    expect((await server.ask('POST', '/api/kernels', { headers: navigation })).status).toBe(403);
  });

  it('takes no body that a form could send', async () => {
    for (const type of ['text/plain', 'application/x-www-form-urlencoded', 'multipart/form-data']) {
      const answer = await server.ask('POST', '/api/contents', {
        body: '{}',
        headers: { 'Content-Type': type },
      });
      expect([type, answer.status]).toEqual([type, 415]);
    }
  });

  it('sends headers that keep the page out of frames and its resources at home', async () => {
    const { headers } = await server.ask('GET', '/');
    expect(headers['content-security-policy']).toMatch(/default-src 'self'/);
    expect(headers['content-security-policy']).toMatch(/connect-src 'self'/);
    expect(headers['content-security-policy']).toMatch(/frame-ancestors 'none'/);
    expect(headers['x-content-type-options']).toBe('nosniff');
    expect(headers['referrer-policy']).toBe('no-referrer');
  });
});

describe('which files', () => {
  const refused = [
    '../outside.txt',
    '..%2foutside.txt',
    '%2e%2e/outside.txt',
    '%2e%2e%2foutside.txt',
    'a/../../outside.txt',
    '..%5coutside.txt',
    '..\\outside.txt',
    '.secret',
    '%2esecret',
    '.hidden/key.txt',
    'run.csv%00.txt',
    'leads-out.txt',
    'folder-out/outside.txt',
    'folder-out/new.txt',
    'leads-to-hidden.txt',
    'node_modules/x.js',
    'C:/windows',
    'run%0a.csv',
  ];

  it.each(refused)('reads nothing at %s', async (path) => {
    for (const under of ['/api/contents/', '/files/']) {
      const answer = await server.ask('GET', under + path);
      expect([400, 404]).toContain(answer.status);
      expect(answer.text).not.toContain('must not be seen');
    }
  });

  it.each(refused)('writes, renames and deletes nothing at %s', async (path) => {
    const body = { type: 'file', format: 'text', content: 'overwritten' };
    expect([400, 404]).toContain((await server.ask('PUT', `/api/contents/${path}`, { body })).status);
    expect([400, 404]).toContain((await server.ask('DELETE', `/api/contents/${path}`)).status);
    const to = decodeURIComponent(path.replaceAll('%00', ''));
    if (to !== 'run.csv.txt')
      expect([400, 404]).toContain(
        (await server.ask('PATCH', '/api/contents/run.csv', { body: { path: to } })).status,
      );
    expect(await readFile(join(server.outside, 'outside.txt'), 'utf8')).toBe('must not be seen');
    expect(await readFile(join(server.folder, '.secret'), 'utf8')).toBe('must not be seen');
    expect(await readFile(join(server.folder, 'run.csv'), 'utf8')).toMatch(/^time_s/);
  });

  it('lists neither hidden files nor links that lead out', async () => {
    const { json } = await server.ask('GET', '/api/contents');
    expect(json.content.map(({ name }: { name: string }) => name)).toEqual(['leads-inside.csv', 'run.csv']);
  });

  it('serves the page from its own folder only', async () => {
    for (const path of [
      '../user/signature-key',
      '..%2fserved/run.csv',
      '.x.js',
      'build-stamp.json',
      'a//b.js',
    ])
      expect((await server.ask('GET', `/page/${path}`)).status).toBe(404);
  });

  it('shows files of others so that they can run and reach nothing', async () => {
    await writeFile(join(server.folder, 'page.html'), '<script>alert(1)</script>');
    await writeFile(join(server.folder, 'mark.svg'), '<svg xmlns="http://www.w3.org/2000/svg"/>');
    const page = await server.ask('GET', '/files/page.html');
    expect(page.headers['content-type']).toBe('application/octet-stream');
    expect(page.headers['content-disposition']).toBe('attachment');
    const mark = await server.ask('GET', '/files/mark.svg');
    expect(mark.headers['content-type']).toBe('image/svg+xml');
    expect(mark.headers['content-security-policy']).toMatch(/default-src 'none'.*sandbox/);
  });
});

describe('what is no file', () => {
  it.skipIf(process.platform === 'win32')('is never waited for: a pipe nobody writes to', async () => {
    await promisify(execFile)('mkfifo', [join(server.folder, 'pipe.csv')]);
    const body = { type: 'file', format: 'text', content: 'x' };
    // Five, where four threads read files: one waiting for each would leave none.
    for (const [method, path, sent] of [
      ['GET', '/files/pipe.csv'],
      ['GET', '/files/pipe.csv'],
      ['GET', '/api/contents/pipe.csv'],
      ['PUT', '/api/contents/pipe.csv', body],
      ['POST', '/api/contents', { copy_from: 'pipe.csv' }],
    ] as const)
      expect((await server.ask(method, path, { body: sent })).status).toBe(400);
    expect((await server.ask('GET', '/files/run.csv')).status).toBe(200);
    expect((await server.ask('DELETE', '/api/contents/pipe.csv')).status).toBe(204);
  });

  it('is not followed where a link was put in the place of a file after the look', async () => {
    const [file, link] = [join(server.folder, 'run.csv'), join(server.outside, 'late-link')];
    await symlink(file, link);
    await expect(readPlainFile(link, 'late-link')).rejects.toMatchObject({ code: 'ELOOP' });
    expect(String(await readPlainFile(file, 'run.csv'))).toMatch(/^time_s/);
  });

  it('is not taken for one under the names that Windows gives to devices', () => {
    for (const name of [
      'CON',
      'nul.csv',
      'Aux.tar.gz',
      'com1',
      'LPT9.txt',
      'prn .csv',
      'run.csv:stream',
      'a.',
    ])
      expect(isServedName(name, 'win32'), name).toBe(false);
    for (const name of ['console.csv', 'com.csv', 'com10.csv', 'nullable.ipynb'])
      expect(isServedName(name, 'win32'), name).toBe(true);
    expect(isServedName('con.csv', 'linux')).toBe(true);
  });
});

describe('a link inside the folder', () => {
  it('is renamed and deleted itself, not what it leads to', async () => {
    await writeFile(join(server.folder, 'target.csv'), 'kept');
    await symlink('target.csv', join(server.folder, 'link.csv'));
    const renamed = await server.ask('PATCH', '/api/contents/link.csv', { body: { path: 'link-2.csv' } });
    expect(renamed.status).toBe(200);
    expect(await readlink(join(server.folder, 'link-2.csv'))).toBe('target.csv');
    expect((await server.ask('DELETE', '/api/contents/link-2.csv')).status).toBe(204);
    expect(await readFile(join(server.folder, 'target.csv'), 'utf8')).toBe('kept');
    await expect(readlink(join(server.folder, 'link-2.csv'))).rejects.toThrow(/ENOENT/);
    await rm(join(server.folder, 'target.csv'));
  });
});

describe('malformed requests', () => {
  it.each(['/%', '/%zz', '/api/contents/%E0%A4%A', '/%00', '/api/%00'])(
    'answers %s with 400',
    async (path) => {
      expect((await server.ask('GET', path)).status).toBe(400);
    },
  );

  it('takes no address of another host for one of its own', async () => {
    expect((await server.ask('GET', 'http://evil.example/api/contents')).status).toBe(400);
    expect((await server.ask('GET', '//evil.example/api/contents')).status).toBe(404);
  });

  it.each(['{', '[]', '"text"', 'null', '{"type":"notebook","content":'])(
    'answers the body %s with 400',
    async (body) => {
      expect((await server.ask('PUT', '/api/contents/x.ipynb', { body })).status).toBe(400);
    },
  );

  it.each([
    [{ type: 'notebook', content: { nbformat: 3, cells: [] } }, /nbformat 4/],
    [{ type: 'notebook', content: { nbformat: 4, cells: [{ cell_type: 'strange' }] } }, /nbformat 4/],
    [
      {
        type: 'notebook',
        content: { nbformat: 4, cells: [{ cell_type: 'code', source: '', outputs: [null] }] },
      },
      /output/,
    ],
    [{ type: 'file' }, /content of the file is missing/],
    [{ type: 'device', content: '' }, /type must be/],
  ])('saves nothing that could not be read again: %j', async (body, message) => {
    const answer = await server.ask('PUT', '/api/contents/strange.ipynb', { body });
    expect(answer.status).toBe(400);
    expect(answer.json.message).toMatch(message);
    expect((await server.ask('GET', '/api/contents/strange.ipynb')).status).toBe(404);
  });

  it.each([
    [{ type: 'file', content: 'lost', expected_hash: 5 }, /hash must be a text/],
    [{ type: 'file', format: 'base64', content: '@@@@not base64!!' }, /not valid base64; nothing was saved/],
  ])('writes over nothing at %j', async (body, message) => {
    const answer = await server.ask('PUT', '/api/contents/run.csv', { body });
    expect([answer.status, answer.json.message]).toEqual([400, expect.stringMatching(message)]);
    expect(await readFile(join(server.folder, 'run.csv'), 'utf8')).toMatch(/^time_s/);
  });

  it.each([
    ['{"nbformat":4,"cells":[{"cell_type":"code","source":"","outputs":{}}]}', /no form of nbformat 4/],
    [
      '{"nbformat":4,"cells":[{"cell_type":"code","source":"","outputs":["x",null]}]}',
      /no form of nbformat 4/,
    ],
    [
      `{"nbformat":4,"metadata":{"x":${'['.repeat(50_000)}${']'.repeat(50_000)}},"cells":[]}`,
      /nested too deeply/,
    ],
  ])('says what is wrong with the notebook %.80s', async (text, message) => {
    await writeFile(join(server.folder, 'wrong.ipynb'), text);
    const answer = await server.ask('GET', '/api/contents/wrong.ipynb');
    await rm(join(server.folder, 'wrong.ipynb'));
    expect([answer.status, answer.json.message]).toEqual([400, expect.stringMatching(message)]);
  });

  it('moves no folder into itself and starts no kernel in a folder that is not there', async () => {
    await mkdir(join(server.folder, 'folder'));
    const moved = await server.ask('PATCH', '/api/contents/folder', { body: { path: 'folder/inner' } });
    expect([moved.status, moved.json.message]).toEqual([400, expect.stringMatching(/lies inside it/)]);
    await rmdir(join(server.folder, 'folder'));
    const body = { path: 'gone/a.ipynb', name: 'a', type: 'notebook' };
    const started = await server.ask('POST', '/api/sessions', { body });
    expect([started.status, started.json.message]).toEqual([404, expect.stringMatching(/folder of “gone/)]);
    expect(server.kernels).toEqual([]);
  });

  it('outlives sockets that break off while they are refused', async () => {
    const host = `127.0.0.1:${server.app.port}`;
    for (let count = 0; count < 50; count += 1)
      await new Promise<void>((resolve, reject) => {
        const socket = connect(server.app.port, '127.0.0.1', () => {
          socket.write(
            `GET /api/kernels/x/channels HTTP/1.1\r\nHost: ${host}\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n\r\nrest`,
          );
          setTimeout(() => {
            socket.resetAndDestroy();
            resolve();
          }, count % 3);
        });
        socket.on('error', reject);
      });
    // An error nobody hears would end the process, and fail this test, before the answer is here.
    expect((await server.ask('GET', '/api/status')).status).toBe(200);
  });

  it('refuses a body that says it is too large before reading it', async () => {
    const answer = await server.ask('PUT', '/api/contents/big.csv', {
      body: '{}',
      headers: { 'Content-Length': String(mostBodyBytes + 1) },
    });
    expect(answer.status).toBe(413);
  });

  it('stops reading a body that turns out to be too large', async () => {
    const chunk = Buffer.alloc(1024 * 1024, 32);
    let chunkCount = 0;
    const body = Readable.from(
      (function* () {
        for (; chunkCount < 1000; chunkCount += 1) yield chunk;
      })(),
    );
    const request = Object.assign(body, { headers: { 'content-type': 'application/json' } });
    await expect(jsonBody(request as never)).rejects.toThrow(/Too large: more than 150 MB/);
    expect(chunkCount).toBeLessThan(200);
  });

  it('never blames itself for what a request did wrong', () => {
    expect(server.faults).toEqual([]);
  });
});

describe('hostile text', () => {
  it('in the name of a notebook cannot end the block of settings', async () => {
    const name = '</script><script>alert(1)</script><!--.ipynb';
    const { text } = await server.ask('GET', `/?notebook=${encodeURIComponent(name)}`);
    expect(text).not.toContain('<script>alert');
    const json = /<script id="jupyter-config-data" type="application\/json">(.*?)<\/script>/s.exec(text)![1];
    expect(JSON.parse(json).notebook).toBe(name);
  });
});
