import { chmodSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { ReportItem } from '../../../toolkit/report/page/report-html.js';
import { writeReport } from '../../../toolkit/report/page/write-report-node.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'report-'));
});
afterEach(() => {
  chmodSync(folder, 0o700);
  rmSync(folder, { recursive: true });
});

describe('writeReport', () => {
  it('writes the page and leaves no draft behind', async () => {
    const path = await writeReport(join(folder, 'page.html'), [{ kind: 'output', text: 'done' }], {
      title: 'x',
    });
    expect(path).toBe(join(folder, 'page.html'));
    expect(readFileSync(path, 'utf8')).toContain('<pre class="output">done</pre>');
    expect(readdirSync(folder)).toEqual(['page.html']);
  });

  it('leaves the older page whole where the new one fails', async () => {
    const path = join(folder, 'page.html');
    writeFileSync(path, 'older');
    const broken = [{ kind: 'nothing' } as unknown as ReportItem];
    await expect(writeReport(path, broken, { title: 'x' })).rejects.toThrow('`items[0].kind` must be');
    expect(readFileSync(path, 'utf8')).toBe('older');
    expect(readdirSync(folder)).toEqual(['page.html']);
  });

  it('says which folder is missing', async () => {
    const path = join(folder, 'absent', 'page.html');
    await expect(writeReport(path, [], { title: 'x' })).rejects.toThrow(
      `writeReport: \`path\` must be a file that can be written (received "${path}"); make the folder ${join(folder, 'absent')} first`,
    );
  });

  it('says where the path is a folder', async () => {
    mkdirSync(join(folder, 'sub'));
    await expect(writeReport(join(folder, 'sub'), [], { title: 'x' })).rejects.toThrow(
      'that is a folder; add a file name such as report.html',
    );
    expect(readdirSync(folder)).toEqual(['sub']);
  });
});
