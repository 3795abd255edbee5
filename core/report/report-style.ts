/** Style of the report: the light palette, readable on screen and in print; nothing is fetched. */
export const REPORT_STYLE = `
:root { color-scheme: light; }
body { margin: 0; background: #F6F4EE; color: #1C1E22; font: 15px/1.45 "Atkinson Hyperlegible Next", sans-serif; }
main { max-width: 1080px; margin: 0 auto; padding: 32px 24px; }
h1 { font-size: 22px; margin: 0; overflow-wrap: anywhere; }
h2 { font-size: 15px; margin: 0 0 8px; }
header p { color: #5E656F; margin: 4px 0 0; }
section { border-top: 1px solid #D9D5CA; margin-top: 24px; padding-top: 16px; }
.figures { display: grid; grid-template-columns: repeat(auto-fill, minmax(300px, 1fr)); gap: 24px; }
figure { margin: 0; }
figure > svg { width: 100%; height: auto; background: #FFFFFF; }
figcaption { color: #5E656F; font-size: 13px; margin-top: 4px; }
table { border-collapse: collapse; font-size: 13px; }
th { text-align: left; font-weight: 600; color: #5E656F; }
th, td { padding: 4px 16px 4px 0; vertical-align: top; border-bottom: 1px solid #D9D5CA; overflow-wrap: break-word; }
.status { white-space: nowrap; }
.numbers { font-family: "Atkinson Hyperlegible Mono", monospace; font-variant-numeric: tabular-nums; margin-top: 8px; }
.numbers th, .numbers td { text-align: right; padding: 2px 0 2px 24px; }
code { font-family: "Atkinson Hyperlegible Mono", monospace; font-size: 11px; }
pre { margin: 0; font: 12px/1.4 "Atkinson Hyperlegible Mono", monospace; white-space: pre-wrap; overflow-wrap: anywhere; }
summary { cursor: pointer; padding: 4px 0; }
ul { margin: 0; padding-left: 20px; }
@media print { body { background: #FFFFFF; } main { padding: 0; } figure, tr { break-inside: avoid; } }
`;
