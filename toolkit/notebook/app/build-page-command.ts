// `npm run build:page`: the page of the notebook app, unless it is there and up to date.
import { ensurePage } from './build-page.js';

const built = await ensurePage(() => {});
if (built) console.log('The page of the notebook app was built.');
