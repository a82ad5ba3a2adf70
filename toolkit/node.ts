export * from './index.js';
export { show } from './notebook/show.js';
