import { describe, expect, it } from 'vitest';
import { createWorkspace } from '../../../toolkit/numerics/workspace.js';

describe('createWorkspace', () => {
  it('never hands out overlapping arrays before they are released', () => {
    const workspace = createWorkspace();
    for (let round = 0; round < 3; round++) {
      const arrays = Array.from({ length: 40 }, (_, k) => workspace.take(1000).fill(k));
      arrays.forEach((array, k) => {
        expect(array.every((value) => value === k)).toBe(true);
      });
      workspace.release();
    }
  });

  it('uses the same memory again after a release', () => {
    const workspace = createWorkspace();
    const first = workspace.take(100);
    workspace.release();
    expect(workspace.take(100).buffer).toBe(first.buffer);
  });

  it('does not keep what is too large', () => {
    const workspace = createWorkspace();
    const large = workspace.take(2_000_000);
    workspace.release();
    expect(workspace.take(2_000_000).buffer).not.toBe(large.buffer);
  });
});
