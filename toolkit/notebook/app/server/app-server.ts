import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { basename, extname } from 'node:path';
import type { Duplex } from 'node:stream';
import { WebSocketServer } from 'ws';
import type { Notebook } from '../../document/notebook-file.js';
import type { KernelConnection, KernelStartOptions } from '../../kernel/kernel-connection.js';
import { logo } from '../logo.js';
import { type ApiParts, answerApi } from './api.js';
import { Contents } from './contents.js';
import { HttpError } from './http-error.js';
import { Kernels } from './kernels.js';
import { pageFile } from './page-files.js';
import { pageHtml } from './page-html.js';
import { mostBodyBytes } from './request-body.js';
import { RequestGuard } from './request-guard.js';
import { ServedFolder } from './served-folder.js';
import { Sessions } from './sessions.js';
import { Signatures } from './signatures.js';
import { socketProtocol } from './socket-frames.js';

/** What a server needs. */
export interface AppServerOptions {
  /** Whose notebooks and logs are shown. */
  readonly folder: string;
  /** Where the built page lies. */
  readonly pageFolder: string;
  /** Where signatures of trusted notebooks are kept. */
  readonly userFolder: string;
  /** First port to try; the next free one is taken. 0 for any. */
  readonly port: number;
  readonly startKernel: (options: KernelStartOptions) => KernelConnection;
  readonly emptyNotebook: Notebook;
  readonly version: string;
  /** Told of faults that are not the person's doing. */
  readonly onFault: (problem: unknown) => void;
}

/** A server that runs. */
export interface AppServer {
  readonly port: number;
  /** The secret link that opens a notebook, or the list. */
  link(notebook?: string): string;
  /** Ends all kernels, then the server. */
  close(): Promise<void>;
}

/** Nobody else's machine can reach it. */
const loopback = '127.0.0.1';
const portsToTry = 50;
const heartbeatMs = 30_000;

/** Scripts and styles of our own and of trusted outputs; nothing from or to any other place. */
const pagePolicy: string = [
  "default-src 'self'",
  "script-src 'self' 'unsafe-inline'",
  "style-src 'self' 'unsafe-inline'",
  "img-src 'self' data: blob:",
  "media-src 'self' data: blob:",
  "font-src 'self' data:",
  "connect-src 'self'",
  "worker-src 'self' blob:",
  "frame-src 'self' data: blob:",
  "object-src 'none'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ');

const commonHeaders = {
  'X-Content-Type-Options': 'nosniff',
  'Referrer-Policy': 'no-referrer',
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Resource-Policy': 'same-origin',
} as const;

/** Starts the server of the notebook app on this machine's own address. */
export async function startAppServer(options: AppServerOptions): Promise<AppServer> {
  const folder = await ServedFolder.at(options.folder);
  const signatures = new Signatures(options.userFolder);
  const kernels = new Kernels(options.startKernel);
  const parts: ApiParts = {
    folder,
    contents: new Contents(folder, signatures, options.emptyNotebook),
    kernels,
    sessions: new Sessions(folder, kernels),
    version: options.version,
  };
  const server = createServer((request, response) => {
    answer(request, response).catch((problem: unknown) => refuse(response, problem));
  });
  server.headersTimeout = 20_000;
  const port = await listen(server, options.port);
  const guard = new RequestGuard(port);
  const sockets = new WebSocketServer({
    noServer: true,
    maxPayload: mostBodyBytes,
    perMessageDeflate: false,
    handleProtocols: () => socketProtocol,
  });
  server.on('upgrade', (request, socket, head) => {
    // The HTTP server watches the connection no more; one that breaks off now must not end the program.
    socket.on('error', () => socket.destroy());
    try {
      upgrade(request, socket, head);
    } catch (problem) {
      const status = problem instanceof HttpError ? problem.status : 400;
      socket.end(`HTTP/1.1 ${status} Refused\r\nConnection: close\r\nContent-Length: 0\r\n\r\n`);
    }
  });
  const heartbeat = setInterval(() => dropSilentSockets(sockets), heartbeatMs);
  heartbeat.unref();

  async function answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const { url, path } = addressOf(request);
    guard.require(request, url);
    const get = request.method === 'GET' || request.method === 'HEAD';
    const api = /^\/api(?:\/(.*?)\/?)?$/s.exec(path);
    if (api !== null) {
      const { status, body } = await answerApi(request, api[1] ?? '', url.searchParams, parts);
      send(response, status, body === undefined ? '' : jsonText(body), {
        ...(body === undefined ? {} : { 'Content-Type': 'application/json' }),
        'Cache-Control': 'no-store',
      });
    } else if (!get) {
      throw new HttpError(405, `${request.method} is not possible here.`);
    } else if (path === '/') {
      if (url.searchParams.has('token')) {
        url.searchParams.delete('token');
        const rest = url.searchParams.toString();
        send(response, 302, '', { Location: rest === '' ? '/' : `/?${rest}`, 'Set-Cookie': guard.cookie });
        return;
      }
      const html = pageHtml(
        {
          notebook: url.searchParams.get('notebook') ?? '',
          folderName: basename(folder.root),
          version: options.version,
        },
        logo,
      );
      send(response, 200, html, {
        'Content-Type': 'text/html; charset=utf-8',
        'Content-Security-Policy': pagePolicy,
        'Cache-Control': 'no-store',
      });
    } else if (path.startsWith('/page/')) {
      const { bytes, headers } = await pageFile(options.pageFolder, path.slice('/page/'.length));
      send(response, 200, bytes, headers);
    } else if (path.startsWith('/files/')) {
      const bytes = await parts.contents.bytes(path.slice('/files/'.length));
      send(response, 200, bytes, fileHeaders(path));
    } else throw new HttpError(404, 'There is nothing here.');
  }

  function upgrade(request: IncomingMessage, socket: Duplex, head: Buffer): void {
    const { url, path } = addressOf(request);
    guard.require(request, url, { originRequired: true });
    const id = /^\/api\/kernels\/([\w-]+)\/channels$/.exec(path)?.[1];
    if (id === undefined) throw new HttpError(404, 'There is no such socket.');
    const kernel = kernels.get(id);
    const offered = (request.headers['sec-websocket-protocol'] ?? '').split(',').map((name) => name.trim());
    if (!offered.includes(socketProtocol))
      throw new HttpError(400, `The socket must speak ${socketProtocol}.`);
    sockets.handleUpgrade(request, socket, head, (opened) =>
      kernel.attach(opened, url.searchParams.get('session_id') ?? ''),
    );
  }

  function refuse(response: ServerResponse, problem: unknown): void {
    const known = problem instanceof HttpError;
    if (!known) options.onFault(problem);
    if (response.headersSent) {
      response.destroy();
      return;
    }
    const message = known ? problem.message : 'The server failed; see the terminal it runs in.';
    // What is left of a body that was refused is not read.
    send(response, known ? problem.status : 500, JSON.stringify({ message }), {
      'Content-Type': 'application/json',
      'Cache-Control': 'no-store',
      Connection: 'close',
    });
  }

  return {
    port,
    link: (notebook) =>
      guard.link(notebook === undefined ? '/' : `/?notebook=${encodeURIComponent(notebook)}`),
    async close() {
      clearInterval(heartbeat);
      await kernels.shutdownAll();
      for (const socket of sockets.clients) socket.terminate();
      sockets.close();
      server.closeAllConnections();
      await new Promise<void>((resolve) => server.close(() => resolve()));
    },
  };
}

function addressOf(request: IncomingMessage): { readonly url: URL; readonly path: string } {
  try {
    // Joined, not resolved: `//other/` must not be taken for another host.
    const url = new URL(`http://${loopback}${request.url ?? '/'}`);
    if (!(request.url ?? '/').startsWith('/')) throw new TypeError('no path');
    const path = decodeURIComponent(url.pathname);
    if (path.includes('\0')) throw new TypeError('no path');
    return { url, path };
  } catch {
    throw new HttpError(400, 'The address is malformed.');
  }
}

function jsonText(body: unknown): string {
  try {
    return JSON.stringify(body);
  } catch (problem) {
    if (!(problem instanceof RangeError)) throw problem;
    throw new HttpError(400, 'The file is too large, or nested too deeply, to be shown.');
  }
}

function send(
  response: ServerResponse,
  status: number,
  body: string | Buffer,
  headers: Readonly<Record<string, string>>,
): void {
  const bytes = Buffer.from(body);
  response.writeHead(status, {
    ...commonHeaders,
    ...headers,
    ...(status === 204 ? {} : { 'Content-Length': String(bytes.length) }),
  });
  response.end(bytes);
}

const shownTypes: Readonly<Record<string, string>> = {
  '.png': 'image/png',
  '.jpg': 'image/jpeg',
  '.jpeg': 'image/jpeg',
  '.gif': 'image/gif',
  '.webp': 'image/webp',
  '.svg': 'image/svg+xml',
  '.pdf': 'application/pdf',
  '.csv': 'text/plain; charset=utf-8',
  '.txt': 'text/plain; charset=utf-8',
};

/** Files of a notebook's folder are somebody else's: they may be looked at, but run nothing and reach nothing. */
function fileHeaders(path: string): Readonly<Record<string, string>> {
  const type = shownTypes[extname(path).toLowerCase()];
  return {
    'Content-Type': type ?? 'application/octet-stream',
    ...(type === undefined ? { 'Content-Disposition': 'attachment' } : {}),
    'Content-Security-Policy': "default-src 'none'; style-src 'unsafe-inline'; sandbox",
    'Cache-Control': 'no-store',
  };
}

const answered = new WeakSet<object>();

/** Ends connections to pages that are gone without having said so. */
function dropSilentSockets(sockets: WebSocketServer): void {
  for (const socket of sockets.clients) {
    if (socket.listenerCount('pong') === 0) {
      socket.on('pong', () => answered.add(socket));
      answered.add(socket);
    }
    if (!answered.delete(socket)) socket.terminate();
    else socket.ping();
  }
}

async function listen(server: ReturnType<typeof createServer>, first: number): Promise<number> {
  for (let port = first; ; port += 1) {
    try {
      await new Promise<void>((resolve, reject) => {
        server.once('error', reject);
        server.listen(port, loopback, () => {
          server.removeListener('error', reject);
          resolve();
        });
      });
      return (server.address() as AddressInfo).port;
    } catch (problem) {
      const isTaken = ['EADDRINUSE', 'EACCES'].includes((problem as NodeJS.ErrnoException).code ?? '');
      if (!isTaken || port >= first + portsToTry) throw problem;
    }
  }
}
