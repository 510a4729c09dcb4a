// Real Chromium, headless, and the rules of axe-core: what every script here looks through.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { resolve } from 'node:path';

// Other tests run beside these on few cores.
export const PATIENCE_MS = 180_000;
const ARGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

/** A browser with an empty profile of its own, and a function that tells axe-core's findings on a page. */
export async function opened(outside, executablePath) {
  const require = createRequire(resolve(outside, 'node_modules', 'here.js'));
  const { chromium } = require('playwright-core');
  const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
  const browser = await chromium.launch({ executablePath, headless: true, args: ARGS, timeout: PATIENCE_MS });
  return { browser, violations: (page) => violations(page, axe) };
}

/** Violations by axe-core, all its rules but those it calls experimental. */
async function violations(page, source) {
  await page.evaluate(source);
  const result = await page.evaluate(() => axe.run(document, { resultTypes: ['violations', 'incomplete'] }));
  const short = (rule) => `${rule.id}: ${rule.nodes.map((node) => node.target.join(' ')).join(', ')}`;
  return {
    violations: result.violations.map(short),
    undecided: result.incomplete.map(short),
    n_passed: result.passes.length,
    has_judged_contrast: [...result.passes, ...result.incomplete].some((rule) => rule.id === 'color-contrast'),
  };
}
