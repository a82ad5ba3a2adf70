import { randomBytes, timingSafeEqual } from 'node:crypto';
import type { IncomingMessage } from 'node:http';
import { HttpError } from './http-error.js';

/**
 * Decides who may talk to the server: pages it served itself, in a browser that was once opened with the secret link.
 *
 * The list of hosts stops names that are made to point at this machine (DNS rebinding), the check of the origin stops
 * other sites and other local servers, the secret stops other people on this machine.
 */
export class RequestGuard {
  readonly #token = randomBytes(24).toString('base64url');
  readonly #hosts: readonly string[];
  readonly #cookieName: string;

  constructor(port: number) {
    this.#hosts = [`127.0.0.1:${port}`, `localhost:${port}`];
    // Cookies are shared by all ports of a host: each server needs a name of its own.
    this.#cookieName = `kelvin-per-watt-${port}`;
  }

  /** The secret link, to be shown to the person who started the server and to nobody else. */
  link(path: string): string {
    const separator = path.includes('?') ? '&' : '?';
    return `http://${this.#hosts[0]}${path}${separator}token=${this.#token}`;
  }

  /** Value of the `Set-Cookie` header that stands for the secret from now on. */
  get cookie(): string {
    return `${this.#cookieName}=${this.#token}; HttpOnly; SameSite=Lax; Path=/`;
  }

  /** Throws `HttpError` 403 unless the request comes from a page of ours and carries the secret. */
  require(request: IncomingMessage, url: URL, options: { readonly originRequired?: boolean } = {}): void {
    const { host, origin } = request.headers;
    if (host === undefined || !this.#hosts.includes(host))
      throw new HttpError(403, 'This server answers only under its own address.');
    if (origin === undefined ? options.originRequired === true : origin !== `http://${host}`)
      throw new HttpError(403, 'Requests from other sites are refused.');
    const site = request.headers['sec-fetch-site'];
    const isNavigation = request.headers['sec-fetch-mode'] === 'navigate' && request.method === 'GET';
    if ((site === 'cross-site' || site === 'same-site') && !isNavigation)
      throw new HttpError(403, 'Requests from other sites are refused.');
    if (!this.#hasToken(request, url))
      throw new HttpError(403, 'Open the page with the link that the server printed when it was started.');
  }

  #hasToken(request: IncomingMessage, url: URL): boolean {
    const given = [
      cookieNamed(this.#cookieName, request.headers.cookie),
      /^(?:token|bearer) (.+)$/i.exec(request.headers.authorization ?? '')?.[1],
      url.searchParams.get('token'),
    ];
    return given.some((token) => typeof token === 'string' && isSame(token, this.#token));
  }
}

function cookieNamed(name: string, header: string | undefined): string | undefined {
  return header
    ?.split(';')
    .map((part) => part.trim())
    .find((part) => part.startsWith(`${name}=`))
    ?.slice(name.length + 1);
}

/** Takes equally long wherever the first difference is. */
function isSame(a: string, b: string): boolean {
  const [left, right] = [Buffer.from(a), Buffer.from(b)];
  return left.length === right.length && timingSafeEqual(left, right);
}
