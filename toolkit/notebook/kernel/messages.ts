import type { CellOutput } from './outputs.js';

/** What the notebook's side sends to the kernel process. */
export type KernelRequest =
  | { readonly type: 'execute'; readonly code: string; readonly executionCount: number }
  | { readonly type: 'interrupt' };

/** What the kernel process sends back. */
export type KernelReply =
  | { readonly type: 'ready' }
  | { readonly type: 'cannot-start'; readonly message: string }
  | { readonly type: 'output'; readonly output: CellOutput }
  | { readonly type: 'done'; readonly status: 'ok' | 'error' };
