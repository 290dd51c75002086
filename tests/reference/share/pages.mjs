// Pages in headless Chromium: nothing is written to the console, nothing is asked for, axe-core finds no fault, and each prints
// to A4 without a page that is empty or wider than the paper.
//
//     BROWSER=chromium node pages.mjs PAGE.html ...
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { basename, dirname } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const browser = await chromium.launch({
  executablePath: process.env.BROWSER,
  args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--disable-component-update', '--disable-sync', '--no-first-run'],
});
let faults = 0;
const check = (what, good, figure = '') => {
  faults += good ? 0 : 1;
  console.log(`${good ? 'ok  ' : 'FAIL'} ${what} ${figure}`);
};
for (const path of process.argv.slice(2)) {
  const name = `${basename(dirname(path))}/${basename(path)}`;
  const address = pathToFileURL(path).href;
  const context = await browser.newContext();
  const page = await context.newPage();
  const said = [], asked = [];
  page.on('console', (m) => said.push(m.text()));
  page.on('pageerror', (e) => said.push(String(e)));
  page.on('request', (r) => { if (r.url() !== address && !r.url().startsWith('data:')) asked.push(r.url()); });
  await page.goto(address);
  check(`${name}: nothing in the console`, said.length === 0, said.join('; '));
  check(`${name}: nothing is asked for`, asked.length === 0, asked.join(' '));
  for (const scheme of ['light', 'dark']) {
    await page.emulateMedia({ colorScheme: scheme });
    // Run in the page by the browser itself, as the page allows no script of its own.
    await page.evaluate(axe);
    const { violations, passes } = await page.evaluate(() => window.axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice'] }));
    const told = violations.map((v) => `${v.id}: ${v.help} (${v.nodes.length}; ${v.nodes[0].html.slice(0, 120)})`);
    check(`${name}: axe-core, ${scheme}`, violations.length === 0 && passes.length > 0, told.join('; ') || `${passes.length} rules passed`);
  }
  // On paper: A4 within the margins that the page itself asks for.
  const margin = Number(/@page\{size:A4;margin:(\d+)mm\}/.exec(readFileSync(path, 'utf8'))[1]);
  await page.emulateMedia({ media: 'print' });
  await page.setViewportSize({ width: Math.floor(((210 - 2 * margin) / 25.4) * 96), height: 1000 });
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  check(`${name}: no wider than A4`, wide <= 0, `${wide} px too wide`);
  const high = await page.evaluate(() => document.documentElement.scrollHeight);
  const pdf = (await page.pdf({ format: 'A4', path: path.replace(/\.html$/, '.pdf') })).toString('latin1');
  const pages = (pdf.match(/\/Type\s*\/Page[^s]/g) ?? []).length;
  // What a column of that height comes to, with breaks that keep things together: up to half as many again, and one.
  const least = Math.max(1, Math.floor(high / ((297 / 25.4) * 96)));
  check(`${name}: as many pages as its length comes to`, pages >= least && pages <= Math.ceil(least * 1.5) + 1, `${pages} of at least ${least}`);
  await context.close();
}
await browser.close();
process.exit(faults ? 1 : 0);
