/** What the page needs to know from the start. */
export interface PageSettings {
  /** Path of the notebook to open; empty for the list. */
  readonly notebook: string;
  /** Name of the served folder. */
  readonly folderName: string;
  readonly version: string;
}

/**
 * The page itself, nearly empty: everything is built by its script. Settings stand in a block that is data, not script,
 * in which no text can end the block.
 */
export function pageHtml(settings: PageSettings, logo: string): string {
  const config = {
    baseUrl: '/',
    appUrl: '/',
    fullStaticUrl: '/page',
    terminalsAvailable: 'false',
    notebook: settings.notebook,
    folderName: settings.folderName,
    appVersion: settings.version,
  };
  const json = JSON.stringify(config).replaceAll('<', '\\u003c');
  const icon = `data:image/svg+xml,${encodeURIComponent(logo)}`;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Kelvin per Watt</title>
<link rel="icon" href="${icon}">
<script src="/page/theme-first.js"></script>
<link rel="stylesheet" href="/page/app.css">
<script id="jupyter-config-data" type="application/json">${json}</script>
</head>
<body class="jp-ThemedContainer">
<noscript>This page is a program: it needs JavaScript.</noscript>
<script type="module" src="/page/app.js"></script>
</body>
</html>
`;
}
