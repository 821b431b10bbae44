// SPDX-License-Identifier: MIT
// Opens the page at two widths, light and dark: no console message, nothing wider than the window.
import { chromium } from 'playwright-core';
import { pathToFileURL } from 'node:url';

const [page_path, browser_path] = process.argv.slice(2);
const browser = await chromium.launch({
    executablePath: browser_path,
    args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking',
        '--disable-component-update', '--disable-sync', '--no-first-run'],
});
let failed = 0;
let passed = 0;
for (const width of [360, 1280]) {
    for (const colorScheme of ['light', 'dark']) {
        const context = await browser.newContext({
            viewport: { width, height: 800 }, colorScheme, javaScriptEnabled: true,
        });
        const page = await context.newPage();
        const said = [];
        page.on('console', message => said.push(message.text()));
        page.on('pageerror', error => said.push(String(error)));
        page.on('request', request => {
            if (!request.url().startsWith('file:')) {
                said.push(`asks for ${request.url()}`);
            }
        });
        await page.goto(pathToFileURL(page_path).href);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth);
        const scripts = await page.evaluate(() => document.scripts.length);
        const sections = await page.evaluate(() => document.querySelectorAll('section').length);
        const bare = await page.evaluate(() => [...document.querySelectorAll('svg')]
            .filter(svg => !svg.hasAttribute('aria-label') &&
                svg.getAttribute('aria-hidden') !== 'true').length);
        const faults = [...said];
        if (wide > width) {
            faults.push(`${wide} px wide`);
        }
        if (scripts !== 0) {
            faults.push('has a script');
        }
        if (sections < 1) {
            faults.push('shows no unit');
        }
        if (bare !== 0) {
            faults.push('has a picture without words');
        }
        if (process.env.CB_SHOT) {
            await page.screenshot({ path: `${process.env.CB_SHOT}-${width}-${colorScheme}.png`, fullPage: true });
        }
        if (faults.length > 0) {
            failed++;
            console.log(`FAILED ${width} px ${colorScheme}: ${faults.join('; ')}`);
        } else {
            passed++;
        }
        await context.close();
    }
}
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);
