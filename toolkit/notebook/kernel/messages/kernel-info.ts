import { createRequire } from 'node:module';
import type { MessageContent } from './jupyter-message.js';
import { protocolVersion } from './jupyter-message.js';

const require = createRequire(import.meta.url);

/** What a kernel says about itself, as `kernel_info_reply` wants it. */
export function kernelInfo(): MessageContent {
  const { version } = require('kelvin-per-watt/package.json') as { version: string };
  const typescript = createRequire(require.resolve('tslab/package.json'))(
    '@tslab/typescript-for-tslab/package.json',
  ) as { version: string };
  return {
    status: 'ok',
    protocol_version: protocolVersion,
    implementation: 'kelvin-per-watt',
    implementation_version: version,
    language_info: {
      name: 'typescript',
      version: typescript.version,
      mimetype: 'text/typescript',
      file_extension: '.ts',
      pygments_lexer: 'typescript',
      codemirror_mode: { name: 'javascript', typescript: true },
      nbconvert_exporter: 'script',
    },
    banner: `Kelvin per Watt ${version}: the toolkit is ready as kpw.`,
    help_links: [],
    debugger: false,
  };
}
