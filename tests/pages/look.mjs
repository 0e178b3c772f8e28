// What a person would look for in the report, looked for by a browser.
//
// node look.mjs FOLDER: below FOLDER lies one folder for each part, each with report.html and result.json.

import { strict as assert } from 'node:assert';
import { mkdtempSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const folder = process.argv[2];
const SOFTWARE = ['--use-angle=swiftshader', '--enable-unsafe-swiftshader'];
const ALONE = [
  '--no-sandbox', '--disable-background-networking', '--disable-component-update', '--disable-default-apps',
  '--disable-sync', '--no-first-run', '--metrics-recording-only', '--no-pings',
];
// What no tester can keep apart: a page that prints on more paper than this is not laid out for print.
const MOST_PAPER = 24; // with all analyses and the build sheet

let checks = 0;
function ok(value, words) {
  assert.ok(value, words);
  checks += 1;
}

async function browser(flags) {
  const profile = mkdtempSync(join(tmpdir(), 'coldstep-pages-'));
  const context = (options) => chromium.launchPersistentContext(profile, {
    executablePath: '/usr/bin/chromium', headless: true, args: [...ALONE, ...flags], ...options,
  });
  return { context, end: () => rmSync(profile, { recursive: true, force: true }) };
}

// Opens a page that may not complain and may not ask for anything but itself.
async function open(context, name) {
  const page = await context.newPage();
  const trouble = [];
  const file = `file://${join(folder, name, 'report.html')}`;
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') {
      // Chromium's own remarks on reading pixels back say nothing about the page.
      if (!/GL Driver Message|GPU stall/.test(message.text())) trouble.push(`console: ${message.text()}`);
    }
  });
  page.on('pageerror', (error) => trouble.push(`error: ${error.message}`));
  page.on('dialog', (dialog) => {
    trouble.push(`dialog: ${dialog.message()}`);
    dialog.dismiss();
  });
  page.on('request', (request) => {
    if (request.url() !== file) trouble.push(`request: ${request.url()}`);
  });
  await page.goto(file, { waitUntil: 'load' });
  await page.waitForTimeout(150);
  return { page, trouble, file };
}

const shown = (page, selector) => page.$eval(selector, (one) => one.getClientRects().length > 0
  && getComputedStyle(one).visibility !== 'hidden');

// How many different colours a picture of the canvas has, and the picture.
async function look(page) {
  // Two frames: one may still be waiting.
  await page.evaluate(() => new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(done)); }));
  return page.$eval('#view', (canvas) => {
    const gl = canvas.getContext('webgl2');
    const pixels = new Uint8Array(4 * gl.drawingBufferWidth * gl.drawingBufferHeight);
    gl.readPixels(0, 0, gl.drawingBufferWidth, gl.drawingBufferHeight, gl.RGBA, gl.UNSIGNED_BYTE, pixels);
    const colours = new Set();
    let covered = 0;
    let hash = 0;
    for (let at = 0; at < pixels.length; at += 4) {
      if (pixels[at + 3] > 0) covered += 1;
      colours.add((pixels[at] << 16) | (pixels[at + 1] << 8) | pixels[at + 2]);
      hash = (hash * 31 + pixels[at] + 7 * pixels[at + 1] + 13 * pixels[at + 3]) | 0;
    }
    return { colours: colours.size, covered: covered / (pixels.length / 4), hash };
  });
}

const slide = (page, value) => page.$eval('#view-time', (slider, to) => {
  slider.value = to;
  slider.dispatchEvent(new Event('input', { bubbles: true }));
}, value);

// Every marked text against the document, as a reader of both would compare them.
async function compare(page, name) {
  const document = JSON.parse(readFileSync(join(folder, name, 'result.json'), 'utf8'));
  const marks = await page.$$eval('[data-json]', (list) => list.map((one) => [one.dataset.json, one.textContent]));
  ok(marks.length > 100, `${name}: ${marks.length} marked elements`);
  for (const [pointer, text] of marks) {
    const value = pointer.split('/').slice(1).reduce((at, key) => at?.[key.replaceAll('~1', '/').replaceAll('~0', '~')], document);
    if (typeof value === 'number') {
      const decimals = text.includes('.') ? text.split('.')[1].length : 0;
      ok(Math.abs(Number(text) - value) <= 0.5 * 10 ** -decimals + 1e-6, `${name} ${pointer}: ${text} for ${value}`);
    } else {
      ok(typeof value === 'string' && value === text, `${name} ${pointer}: ${text} for ${value}`);
    }
  }
}

async function faults(page, words) {
  // As a debugger would: the page itself lets no other script run.
  await page.evaluate(axe);
  const result = await page.evaluate(() => globalThis.axe.run(document, {
    runOnly: { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] },
  }));
  const told = result.violations.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 160)).join(' | ')}`);
  ok(told.length === 0, `${words}: ${told.join('\n')}`);
}

async function withView(name, context) {
  const { page, trouble } = await open(context, name);
  ok(await shown(page, '.view'), `${name}: the view runs`);
  ok(!(await shown(page, '.instead')), `${name}: and stands in the drawings' place`);
  const opened = await look(page);
  ok(opened.colours > 20 && opened.covered > 0.05, `${name}: the canvas shows something: ${JSON.stringify(opened)}`);
  await slide(page, '140');
  const closed = await look(page);
  ok(closed.hash !== opened.hash, `${name}: closing changes the picture`);
  ok((await page.textContent('#view-said')).startsWith('Closed'), `${name}: and is told`);
  await slide(page, '200');
  const let_go = await look(page);
  ok(let_go.hash !== opened.hash && let_go.hash !== closed.hash, `${name}: the pressed plate is not the flat blank`);
  for (const box of ['upper', 'lower', 'sheet']) {
    const before = await look(page);
    await page.click(`#view-${box}`);
    ok((await look(page)).hash !== before.hash, `${name}: ${box} see-through`);
    await page.click(`#view-${box}`);
  }
  await compare(page, name);
  ok(trouble.length === 0, `${name}: ${trouble.join('; ')}`);
  await page.close();
}

// By keyboard alone: every control is reached, and each does what it says.
async function byKeyboard(name, context) {
  const { page, trouble } = await open(context, name);
  const reached = new Set();
  for (let step = 0; step < 120; step += 1) {
    await page.keyboard.press('Tab');
    const at = await page.evaluate(() => {
      const one = document.activeElement;
      const outline = getComputedStyle(one);
      return { id: one.id, tag: one.tagName, skip: one.className === 'skip', seen: outline.outlineStyle !== 'none' && parseFloat(outline.outlineWidth) >= 2 };
    });
    if (at.tag === 'BODY') break;
    ok(at.seen, `the focus can be seen on ${at.tag} ${at.id}`);
    if (at.skip) reached.add('skip');
    if (at.id) reached.add(at.id);
    if (at.id === 'view') {
      const before = await look(page);
      await page.keyboard.press('ArrowLeft');
      const turned = await look(page);
      ok(turned.hash !== before.hash, 'an arrow turns the view');
      await page.keyboard.press('+');
      ok((await look(page)).hash !== turned.hash, 'plus comes nearer');
      await page.keyboard.press('Home');
      ok((await look(page)).hash === before.hash, 'Home brings the first view back');
    }
    if (at.id === 'view-time') {
      const before = await look(page);
      await page.keyboard.press('End');
      ok((await look(page)).hash !== before.hash, 'the slider moves by keyboard');
      await page.keyboard.press('Home');
    }
    if (at.id === 'view-play') {
      await page.keyboard.press('Enter');
      ok((await page.textContent('#view-play')) === 'Pause', 'playing can be stopped');
      await page.waitForTimeout(400);
      ok(Number(await page.inputValue('#view-time')) > 0, 'playing moves on');
      await page.keyboard.press('Space');
      ok((await page.textContent('#view-play')) === 'Play', 'and is stopped');
    }
    if (at.id === 'view-lower') {
      await page.keyboard.press('Space');
      ok(await page.isChecked('#view-lower'), 'a switch is switched');
    }
  }
  for (const id of ['skip', 'view', 'view-play', 'view-time', 'view-reset', 'view-upper', 'view-lower', 'view-sheet']) {
    ok(reached.has(id), `${id} is reached by keyboard`);
  }
  ok(trouble.length === 0, trouble.join('; '));
  await page.close();
}

// A finger turns the view.
async function byTouch(name, context) {
  const { page } = await open(context, name);
  await page.$eval('#view', (canvas) => canvas.scrollIntoView());
  const before = await look(page);
  const box = await page.locator('#view').boundingBox();
  const session = await context.newCDPSession(page);
  const at = (x) => [{ x: box.x + box.width * x, y: box.y + box.height / 2 }];
  await session.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: at(0.3) });
  for (const x of [0.4, 0.5, 0.6]) await session.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: at(x) });
  await session.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
  ok((await look(page)).hash !== before.hash, 'a finger turns the view');
  await page.close();
}

const narrowEnough = (page) => page.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth);

async function paper(page, name) {
  await page.emulateMedia({ media: 'print' });
  ok(!(await shown(page, '#answer')) === false, `${name}: the answer is printed`);
  if (await page.$('.instead')) ok(await shown(page, '.instead svg'), `${name}: the drawings are printed`);
  if (await page.$('#view')) ok(!(await shown(page, '#view')), `${name}: the canvas is not`);
  const pdf = (await page.pdf({ format: 'A4' })).toString('latin1');
  const count = (pdf.match(/\/Type\s*\/Page\b(?!s)/g) || []).length;
  ok(count >= 4 && count <= MOST_PAPER, `${name}: ${count} pages of paper`);
  return count;
}

const names = readdirSync(folder, { withFileTypes: true }).filter((one) => one.isDirectory()).map((one) => one.name).sort();
const viewed = names.filter((name) => name !== 'refused');
const one = 'three-levels';

// Light, with a view.
let run = await browser(SOFTWARE);
let context = await run.context({ viewport: { width: 1100, height: 900 }, colorScheme: 'light' });
for (const name of viewed) await withView(name, context);
await byKeyboard(one, context);
for (const name of [one, 'hostile', 'refused']) {
  const { page, trouble } = await open(context, name);
  await faults(page, `${name}, light`);
  const count = await paper(page, name);
  if (name === one) console.log(`${name} prints on ${count} pages`);
  ok(trouble.length === 0, `${name}: ${trouble.join('; ')}`);
  await page.close();
}
{
  const { page, trouble } = await open(context, 'refused');
  ok((await page.textContent('#answer .verdict')).startsWith('NO'), 'a refused part says NO');
  ok((await page.$$('#answer > ul.reasons > li')).length > 0, 'and why');
  ok(!(await page.$('canvas')) && !(await page.$('script')), 'and has no dies');
  await compare(page, 'refused');
  ok(trouble.length === 0, trouble.join('; '));
  await page.close();
}
{
  const { page } = await open(context, 'hostile');
  ok(!(await page.$('img')), 'a name makes no element');
  ok((await page.title()).includes('<script>alert(1)</script>'), 'a name stays a name');
  await page.close();
}
await context.close();

// Dark, without motion.
context = await run.context({ viewport: { width: 1100, height: 900 }, colorScheme: 'dark', reducedMotion: 'reduce' });
{
  const { page, trouble } = await open(context, one);
  const paperColour = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  ok(paperColour.match(/\d+/g).every((part) => Number(part) < 90), `dark paper: ${paperColour}`);
  ok((await look(page)).colours > 20, 'the view shows something in the dark');
  await faults(page, 'dark');
  await page.click('#view-play');
  await page.waitForTimeout(300);
  const rest = await page.inputValue('#view-time');
  await page.waitForTimeout(500);
  ok(rest === (await page.inputValue('#view-time')), 'where motion is not wanted, playing rests at each stage');
  ok(trouble.length === 0, trouble.join('; '));
}
await context.close();

// A small telephone.
context = await run.context({ viewport: { width: 360, height: 700 }, hasTouch: true, isMobile: true, deviceScaleFactor: 3 });
for (const name of [one, 'hostile', 'refused']) {
  const { page, trouble } = await open(context, name);
  ok(await narrowEnough(page), `${name}: no scrolling sideways`);
  if (name === one) {
    const size = await page.$eval('#view', (canvas) => [canvas.width / canvas.clientWidth, canvas.clientHeight]);
    ok(size[0] <= 2.01 && size[1] <= 700 * 0.63, `pixel ratio and height are kept in bounds: ${size}`);
    await faults(page, 'narrow');
  }
  ok(trouble.length === 0, `${name}: ${trouble.join('; ')}`);
  await page.close();
}
await byTouch(one, context);
await context.close();

// Without scripts: the drawings, and every word.
context = await run.context({ javaScriptEnabled: false, viewport: { width: 1100, height: 900 } });
{
  const page = await context.newPage();
  await page.goto(`file://${join(folder, one, 'report.html')}`);
  ok(await page.locator('.instead svg').first().isVisible(), 'without scripts the drawings are seen');
  ok(!(await page.locator('#view').isVisible()), 'and the canvas is not');
}
await context.close();
run.end();

// Without WebGL.
run = await browser(['--disable-gpu', '--disable-webgl', '--disable-3d-apis', '--disable-software-rasterizer']);
context = await run.context({ viewport: { width: 1100, height: 900 } });
{
  const { page, trouble } = await open(context, one);
  ok(await shown(page, '.instead svg'), 'without WebGL the drawings are seen');
  ok(!(await shown(page, '#view')), 'and the canvas is not');
  await faults(page, 'without WebGL');
  ok(trouble.length === 0, trouble.join('; '));
}
await context.close();
run.end();
console.log(`${names.length} reports, ${checks} checks passed`);
