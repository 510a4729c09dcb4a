// Opens a page from a file address in real Chromium, the network off, with and without script, and prints what is seen
// as JSON. It judges nothing; `tests/it/browser.rs` does.
//   node observe.mjs FOLDER PAGE.html CHROMIUM PRINTS
// FOLDER has playwright-core and axe-core in node_modules; the prints go to PRINTS/A4.pdf and PRINTS/Letter.pdf.
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

import { opened, PATIENCE_MS } from './chromium.mjs';

const [outside, file, executablePath, prints] = process.argv.slice(2);
const { browser, violations } = await opened(outside, executablePath);
const ADDRESS = pathToFileURL(file).href;
const WIDTHS = [360, 800, 1000];
const MOST_TABS = 120;

/** What of the page is seen at all widths. */
async function measured(page) {
  const widths = {};
  for (const width of WIDTHS) {
    await page.setViewportSize({ width, height: 800 });
    widths[width] = await page.evaluate(() => {
      const root = document.documentElement;
      // What sticks out, of the window or of its drawing, is cut even where nothing scrolls.
      const sticking = [...document.querySelectorAll('main *')].filter((element) => {
        const box = element.getBoundingClientRect();
        const isDrawn = ['text', 'rect'].includes(element.localName) && !element.closest('defs');
        const room = isDrawn && element.ownerSVGElement.getBoundingClientRect();
        const { left, right } = room || { left: 0, right: root.clientWidth };
        return box.width > 0 && (box.right > right + 1 || box.left < left - 1);
      });
      return {
        scroll: root.scrollWidth,
        client: root.clientWidth,
        sticking: sticking.map((element) => element.outerHTML.slice(0, 120)),
      };
    });
  }
  await page.setViewportSize({ width: 360, height: 800 });
  return widths;
}

/** Words shown now, a line a paragraph, cell, label or text of a drawing. */
const words = (page) =>
  page.evaluate(() => {
    const lines = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    let last = null;
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      // `checkVisibility` calls hidden parts of drawings visible.
      if (node.parentElement.getClientRects().length === 0) continue;
      const holder = node.parentElement.closest('p, h1, h2, h3, th, td, li, caption, figcaption, legend, label, text');
      if (holder && holder === last) lines[lines.length - 1] += node.data;
      else lines.push(node.data);
      last = holder;
    }
    return lines.join('\n');
  });

/** Where every link to a place on the page leads when it is pressed. */
async function jumps(page) {
  const found = [];
  for (const link of await page.locator('nav a').all()) {
    await page.evaluate(() => window.scrollTo(0, 0));
    await link.click();
    const goal = (await link.getAttribute('href')).slice(1);
    // The last ones cannot reach the top: the page ends below them.
    found.push(
      await page.evaluate((id) => {
        const goal = document.getElementById(id);
        const root = document.documentElement;
        return {
          goal: goal && goal.localName,
          words: goal && goal.innerText,
          hash: decodeURIComponent(location.hash.slice(1)) === id,
          top: goal ? goal.getBoundingClientRect().top : -1,
          is_at_end: Math.abs(root.scrollHeight - root.clientHeight - root.scrollTop) < 2,
        };
      }, goal),
    );
  }
  return found;
}

/** What the Tab key reaches, in order, and whether its focus is seen. */
async function tabs(page) {
  await page.goto(ADDRESS);
  const path = [];
  for (let n = 0; n < MOST_TABS; n++) {
    await page.keyboard.press('Tab');
    const at = await page.evaluate(() => {
      const at = document.activeElement;
      if (!at || at === document.body || at === document.documentElement) return null;
      const style = getComputedStyle(at);
      const box = at.getBoundingClientRect();
      const name = at.getAttribute('aria-label') || at.textContent || at.labels?.[0]?.textContent || '';
      return {
        kind: at.localName,
        goal: at.getAttribute('href'),
        exists: !at.getAttribute('href') || !!document.getElementById(at.getAttribute('href').slice(1)),
        id: at.id,
        name: name.trim(),
        outline_px: style.outlineStyle === 'none' ? 0 : parseFloat(style.outlineWidth),
        is_on_screen: box.bottom > 0 && box.top < innerHeight && box.width > 0,
        box: { x: box.x, y: box.y, width: box.width, height: box.height },
      };
    });
    if (!at) break;
    path.push(at);
  }
  return path;
}

/** Whether focus changes what is drawn round the first link of a map. */
async function focus_is_drawn(page) {
  const link = page.locator('svg a').first();
  if ((await link.count()) === 0) return null;
  await link.scrollIntoViewIfNeeded();
  const box = await link.boundingBox();
  const clip = { x: Math.max(0, box.x - 6), y: Math.max(0, box.y - 6), width: box.width + 12, height: box.height + 12 };
  const off = await page.screenshot({ clip });
  await link.focus();
  await page.keyboard.press('Shift');
  const on = await page.screenshot({ clip });
  return !off.equals(on);
}

async function observed(browser, javaScriptEnabled) {
  const context = await browser.newContext({ viewport: { width: 360, height: 800 }, javaScriptEnabled });
  context.setDefaultTimeout(PATIENCE_MS);
  await context.setOffline(true);
  const heard = { console: [], errors: [], dialogs: [], requests: [] };
  await context.route(/^(?!file:)/, (route) => route.abort());
  const page = await context.newPage();
  page.on('console', (message) => heard.console.push(`${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => heard.errors.push(String(error)));
  page.on('dialog', (dialog) => (heard.dialogs.push(dialog.message()), dialog.dismiss()));
  page.on('request', (request) => heard.requests.push(request.url() === ADDRESS ? 'the page' : request.url()));
  await page.goto(ADDRESS);
  const seen = {
    title: await page.title(),
    heading: await page.locator('h1').innerText(),
    scripts: await page.locator('script').count(),
    first: await words(page),
    // Markup of a name would show as an element or attribute no page of ours has.
    strangers: await page.evaluate(() =>
      [...document.querySelectorAll('*')]
        .filter((one) => [...one.attributes].some((at) => /^on/i.test(at.name)) || /^(script|iframe|object|embed|img|link|base|form)$/i.test(one.localName))
        .map((one) => one.outerHTML.slice(0, 120)),
    ),
  };
  const choice = await page.locator('input[name=units]').all();
  seen.checked = [];
  for (const input of choice) seen.checked.push([await input.getAttribute('id'), await input.isChecked()]);
  await page.locator('#units-si').check();
  seen.si = await words(page);
  await page.locator('#units-us').check();
  seen.us = await words(page);
  seen.widths = await measured(page);
  seen.jumps = await jumps(page);
  seen.tabs = await tabs(page);
  seen.focus_is_drawn = await focus_is_drawn(page);
  if (javaScriptEnabled) {
    await page.goto(ADDRESS);
    seen.axe_us = await violations(page);
    await page.locator('#units-si').check();
    seen.axe_si = await violations(page);
    await page.goto(ADDRESS);
    for (const format of ['A4', 'Letter']) await page.pdf({ path: join(prints, `${format}.pdf`), format });
  }
  await context.close();
  return { ...seen, ...heard };
}

try {
  const result = { with_script: await observed(browser, true), without_script: await observed(browser, false) };
  process.stdout.write(JSON.stringify(result));
} finally {
  await browser.close();
}
