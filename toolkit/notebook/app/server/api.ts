import type { IncomingMessage } from 'node:http';
import type { Contents } from './contents.js';
import { HttpError } from './http-error.js';
import type { Kernels } from './kernels.js';
import { jsonBody } from './request-body.js';
import type { ServedFolder } from './served-folder.js';
import { kernelName } from './served-kernel.js';
import type { Sessions } from './sessions.js';

/** What an answer holds; without a body where there is none. */
export interface ApiAnswer {
  readonly status: number;
  readonly body?: unknown;
}

/** What the routes of the REST interface work on. */
export interface ApiParts {
  readonly folder: ServedFolder;
  readonly contents: Contents;
  readonly kernels: Kernels;
  readonly sessions: Sessions;
  readonly version: string;
}

const started: string = new Date().toISOString();

/** Answers a request to `/api/…` as the Jupyter server documents it; `path` is what follows `/api/`, decoded. */
export async function answerApi(
  request: IncomingMessage,
  path: string,
  query: URLSearchParams,
  parts: ApiParts,
): Promise<ApiAnswer> {
  const method = request.method ?? 'GET';
  const [first = '', ...rest] = path.split('/');
  switch (first) {
    case '':
      return { status: 200, body: { version: parts.version } };
    case 'status':
      return { status: 200, body: { started, kernels: parts.kernels.all().length } };
    case 'me':
      return { status: 200, body: me };
    case 'kernelspecs':
      return { status: 200, body: kernelspecs };
    case 'contents':
      return answerContents(request, method, rest.join('/'), query, parts.contents);
    case 'kernels':
      return answerKernels(request, method, rest, parts);
    case 'sessions':
      return answerSessions(request, method, rest, parts.sessions);
    default:
      throw new HttpError(404, `There is nothing under /api/${first}.`);
  }
}

const me = {
  identity: {
    username: 'owner',
    name: 'owner',
    display_name: 'Owner',
    initials: 'O',
    avatar_url: null,
    color: null,
  },
  permissions: {},
};

const kernelspecs = {
  default: kernelName,
  kernelspecs: {
    [kernelName]: {
      name: kernelName,
      resources: {},
      spec: {
        argv: [],
        display_name: 'TypeScript (Kelvin per Watt)',
        language: 'typescript',
        interrupt_mode: 'message',
        env: {},
        metadata: {},
      },
    },
  },
};

async function answerContents(
  request: IncomingMessage,
  method: string,
  path: string,
  query: URLSearchParams,
  contents: Contents,
): Promise<ApiAnswer> {
  const checkpointed = /^(.*)\/checkpoints(?:\/[^/]*)?$/.exec(path)?.[1];
  if (checkpointed !== undefined) return answerCheckpoints(method, checkpointed, contents);
  switch (method) {
    case 'GET': {
      const asked = { content: query.get('content') !== '0', hash: query.get('hash') === '1' };
      return { status: 200, body: await contents.get(path, { ...asked, format: query.get('format') }) };
    }
    case 'PUT': {
      const { model, created } = await contents.save(path, await jsonBody(request));
      return { status: created ? 201 : 200, body: model };
    }
    case 'POST': {
      const { type, ext, copy_from: copyFrom } = await jsonBody(request);
      return { status: 201, body: await contents.create(path, { type, ext, copyFrom }) };
    }
    case 'PATCH':
      return { status: 200, body: await contents.rename(path, (await jsonBody(request))['path']) };
    case 'DELETE':
      await contents.delete(path);
      return { status: 204 };
    default:
      throw new HttpError(405, `${method} is not possible here.`);
  }
}

/** The one state a person can go back to is the file itself: it is the only checkpoint there is. */
async function answerCheckpoints(method: string, path: string, contents: Contents): Promise<ApiAnswer> {
  const { last_modified } = await contents.get(path, { content: false, hash: false, format: null });
  const checkpoint = { id: 'last-saved', last_modified };
  if (method === 'GET') return { status: 200, body: [checkpoint] };
  if (method === 'POST') return { status: 201, body: checkpoint };
  throw new HttpError(405, `${method} is not possible here.`);
}

async function answerKernels(
  request: IncomingMessage,
  method: string,
  [id, action]: readonly string[],
  { folder, kernels, sessions }: ApiParts,
): Promise<ApiAnswer> {
  if (id === undefined) {
    if (method === 'GET') return { status: 200, body: kernels.all().map((kernel) => kernel.model()) };
    if (method === 'POST') return { status: 201, body: kernels.start(folder.root).model() };
    throw new HttpError(405, `${method} is not possible here.`);
  }
  const kernel = kernels.get(id);
  if (action === undefined && method === 'GET') return { status: 200, body: kernel.model() };
  if (action === undefined && method === 'DELETE') {
    sessions.forgetKernel(id);
    await kernels.shutdown(id);
    return { status: 204 };
  }
  if (method !== 'POST') throw new HttpError(405, `${method} is not possible here.`);
  await jsonBody(request);
  if (action === 'interrupt') {
    await kernel.interrupt().catch((problem: unknown) => {
      throw new HttpError(504, problem instanceof Error ? problem.message : String(problem));
    });
    return { status: 204 };
  }
  if (action === 'restart') {
    await kernel.restart();
    return { status: 200, body: kernel.model() };
  }
  throw new HttpError(404, `A kernel cannot ${action}.`);
}

async function answerSessions(
  request: IncomingMessage,
  method: string,
  [id]: readonly string[],
  sessions: Sessions,
): Promise<ApiAnswer> {
  if (id === undefined) {
    if (method === 'GET') return { status: 200, body: sessions.list() };
    if (method === 'POST') return { status: 201, body: await sessions.create(await jsonBody(request)) };
  } else {
    if (method === 'GET') return { status: 200, body: sessions.get(id) };
    if (method === 'PATCH') return { status: 200, body: await sessions.change(id, await jsonBody(request)) };
    if (method === 'DELETE') {
      await sessions.delete(id);
      return { status: 204 };
    }
  }
  throw new HttpError(405, `${method} is not possible here.`);
}
