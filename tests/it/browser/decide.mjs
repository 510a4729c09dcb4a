// Goes one whole round through the page of `decide` in real Chromium by keyboard and mouse, and prints what is seen as
// JSON. It judges nothing; `tests/it/browser/decide.rs` does.
//   node decide.mjs FOLDER ADDRESS CHROMIUM
import { opened, PATIENCE_MS } from './chromium.mjs';

const [outside, address, executablePath] = process.argv.slice(2);
const { browser, violations } = await opened(outside, executablePath);
try {
  const context = await browser.newContext({ viewport: { width: 360, height: 800 } });
  context.setDefaultTimeout(PATIENCE_MS);
  const page = await context.newPage();
  const seen = { console: [], errors: [], dialogs: [], elsewhere: [], answers: [], widths: {} };
  page.on('console', (message) => seen.console.push(`${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => seen.errors.push(String(error)));
  page.on('dialog', (dialog) => (seen.dialogs.push(dialog.message()), dialog.dismiss()));
  page.on('request', (request) => {
    const url = request.url();
    if (!url.startsWith(address) && !url.startsWith('data:')) seen.elsewhere.push(url);
  });
  const answered = () =>
    page.waitForResponse((reply) => reply.url() === `${address}answers`).then(async (reply) => seen.answers.push(await reply.json()));
  const settled = () => page.waitForFunction(() => !document.getElementById('answers').hasAttribute('aria-busy'));

  await page.goto(address);
  seen.title = await page.title();
  seen.headings = await page.locator('h2').allInnerTexts();
  for (const width of [360, 800]) {
    await page.setViewportSize({ width, height: 800 });
    seen.widths[width] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
  }
  await page.setViewportSize({ width: 360, height: 800 });
  seen.axe_first = await violations(page);

  // Four zones by keyboard: the radio that is chosen, then one to the right.
  let told = answered();
  await page.locator('input[name="zones.count"]:checked').focus();
  await page.keyboard.press('ArrowRight');
  await told;
  await settled();
  seen.chosen = await page.locator('input[name="zones.count"]:checked').getAttribute('value');
  seen.foot_refused = await page.locator('#since').innerText();

  told = answered();
  await page.locator('#carry').click();
  await told;
  await settled();
  seen.headings_changed = await page.locator('h2').allInnerTexts();
  seen.foot = await page.locator('#since').innerText();
  seen.axe_changed = await violations(page);

  await page.locator('#write').click();
  await page.waitForLoadState();
  seen.said = await page.locator('#said').innerText();
  await page.locator('#stop').click();
  seen.stopped = await page.locator('#stopped').innerText();
  process.stdout.write(JSON.stringify(seen));
} finally {
  await browser.close();
}
