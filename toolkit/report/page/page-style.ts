/** Style of a report page: light, dark, and on paper. */
export const pageStyle: string = `
:root {
  color-scheme: light dark;
  --paper: #ffffff; --ink: #1d2731; --quiet: #56636e; --rule: #d3d9dd; --raised: #f4f6f7;
  --accent: #004488; --warning: #8a6400; --serious: #a03a4c;
}
@media (prefers-color-scheme: dark) {
  :root {
    --paper: #15191c; --ink: #e4e8eb; --quiet: #a7b1b9; --rule: #3a434a; --raised: #1d2327;
    --accent: #8fbdf0; --warning: #e3b75a; --serious: #f39aa8;
  }
}
* { box-sizing: border-box; }
body {
  margin: 0; background: var(--paper); color: var(--ink);
  font: 16px/1.55 system-ui, -apple-system, "Segoe UI", "Noto Sans", "Liberation Sans", Arial, sans-serif;
}
main { max-width: 54rem; margin: 0 auto; padding: 2.5rem 1.25rem 4rem; }
h1 { font-size: 1.9rem; line-height: 1.2; margin: 0 0 .4rem; text-wrap: balance; }
h2 { font-size: 1.35rem; line-height: 1.3; margin: 2.4rem 0 .6rem; }
h3, h4, h5, h6 { font-size: 1.08rem; margin: 1.8rem 0 .4rem; }
h1, h2, h3, h4, p, li, pre { overflow-wrap: anywhere; }
th, td { overflow-wrap: break-word; }
td:not(.number) { min-width: 5.5rem; max-width: 32rem; }
p, ul, ol { margin: .6rem 0; max-width: 44rem; }
.subtitle { color: var(--quiet); margin-top: 0; }
a { color: var(--accent); }
code, pre { font: .88em/1.5 ui-monospace, "Cascadia Mono", "Liberation Mono", monospace; }
pre { background: var(--raised); border: 1px solid var(--rule); border-radius: 4px; padding: .7rem .9rem; margin: .8rem 0; white-space: pre-wrap; }
pre.output { background: none; border-width: 0 0 0 3px; border-radius: 0; }
figure { margin: 1.6rem 0; }
.picture { width: 100%; }
.scripted .picture { min-height: var(--height); }
.still img { display: block; }
@media (prefers-color-scheme: dark) { .scripted .still { visibility: hidden; } }
summary { cursor: pointer; color: var(--quiet); }
details { margin: .6rem 0; }
figure details { font-size: .87rem; margin: .3rem 0 0; }
blockquote { margin: .8rem 0; padding: 0 0 0 .9rem; border-left: 3px solid var(--rule); color: var(--quiet); }
hr { border: 0; border-top: 1px solid var(--rule); margin: 2rem 0; }
.formula { margin: .6rem 0; padding: .4rem 0; overflow: auto hidden; }
math { font-size: 1.08em; }
.table { margin: 1.2rem 0; overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; }
.wide table { font-size: .86rem; }
.wide :is(th, td) { padding-right: .75rem; }
.wide td:not(.number) { min-width: 4.5rem; }
@media (max-width: 54rem) { .wide :is(th, td) { padding-right: .5rem; } }
caption { text-align: left; font-weight: 600; padding-bottom: .4rem; }
th, td { text-align: left; vertical-align: top; padding: .32rem 1rem .32rem 0; border-bottom: 1px solid var(--rule); }
th:last-child, td:last-child { padding-right: 0; }
thead th { border-bottom: 2px solid var(--ink); font-weight: 600; line-height: 1.3; vertical-align: bottom; }
thead small { color: var(--quiet); font-size: .87em; font-weight: 400; }
.number { text-align: right; }
td.number { white-space: nowrap; }
.note { color: var(--quiet); font-size: .87rem; margin: .4rem 0 0; }
.findings { list-style: none; padding: 0; }
.findings li { border-left: 4px solid var(--quiet); padding: .15rem 0 .15rem .8rem; margin: .6rem 0; }
.findings .warning { border-color: var(--warning); }
.findings .serious { border-color: var(--serious); }
.findings strong { margin-right: .4em; }
.findings .warning strong { color: var(--warning); }
.findings .serious strong { color: var(--serious); }
.message { color: var(--serious); }
@page { margin: 16mm; }
@media print {
  :root {
    --paper: #ffffff; --ink: #000000; --quiet: #444444; --rule: #bbbbbb; --raised: #ffffff;
    --accent: #003366; --warning: #5c4300; --serious: #7a1f30;
  }
  body { font-size: 10.5pt; }
  main { max-width: none; padding: 0; }
  h2, h3, h4 { break-after: avoid; }
  figure, tr, .findings li { break-inside: avoid; }
  thead { display: table-header-group; }
  .table, .formula { overflow: visible; }
  th, td { padding-right: .7rem; }
  .wide table { font-size: 8.5pt; }
  .note { font-size: 9pt; }
  td.number { white-space: normal; }
  td:not(.number) { min-width: 5rem; }
  .modebar { display: none !important; }
  a { color: inherit; text-decoration: none; }
  details:not([open]) { display: none; }
}
`;
