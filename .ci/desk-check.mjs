// Serves a yard of simulated meters and looks at its survey and its desk in
// headless Chromium, as a phone and a desktop have them: nothing overflows,
// nothing is loaded from elsewhere, the console stays silent, axe-core finds no
// fault, whatever is touched is 44 px large, and verdicts have a contrast of 7:1;
// the survey is sorted and opened by keyboard, and read without scripts;
// the desk's page follows a CT that is turned round while it is open, keeps the
// focus, and says when it isn't current any more; a meter's page draws the last
// day from a server with history, which is played here.
//
//   node .ci/desk-check.mjs LEGWORK [FOLDER]
//
// LEGWORK is the built command; screenshots go to FOLDER. Needs chromium
// (CHROMIUM, or /usr/bin/chromium), and playwright-core and axe-core below
// NODE_MODULES, or here.
import { spawn, spawnSync } from 'node:child_process'
import { createServer } from 'node:http'
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'

const [given, folder] = process.argv.slice(2)
if (!given) {
  console.error('say: node .ci/desk-check.mjs LEGWORK [FOLDER]')
  process.exit(2)
}
const legwork = resolve(given)
const require = createRequire(join(resolve(process.env.NODE_MODULES ?? '.'), 'from-here.js'))
const { chromium } = require('playwright-core')
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8')
const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium'
if (!existsSync(executablePath)) throw new Error(`there is no ${executablePath}; set CHROMIUM`)

const work = mkdtempSync(join(tmpdir(), 'legwork-desk-'))
const shots = folder ? resolve(folder) : join(work, 'shots')
mkdirSync(shots, { recursive: true })
const faults = []
const fault = (where, what) => faults.push(`${where}: ${what}`)
const running = []

// start runs legwork and gives the first line that it prints.
function start(...args) {
  const p = spawn(legwork, args, { cwd: work, stdio: ['pipe', 'pipe', 'ignore'] })
  running.push(p)
  return new Promise((done, failed) => {
    p.stdout.once('data', (d) => done({ process: p, line: d.toString().split('\n')[0] }))
    p.once('exit', (code) => failed(new Error(`legwork ${args.join(' ')} ended with ${code}`)))
  })
}

const views = [
  { name: 'phone', width: 390, height: 844 },
  { name: 'phone-dark', width: 390, height: 844, dark: true },
  { name: 'narrow', width: 320, height: 640 }, // WCAG 2.1, 1.4.10 (reflow)
  { name: 'desktop', width: 1280, height: 900 },
  { name: 'desktop-dark', width: 1280, height: 900, dark: true },
]

// history plays a server that keeps a day of every meter: three channels, one of
// them reversed since noon, an hour without answers, and half an hour before
// which nothing was recorded.
async function history() {
  const server = createServer((request, response) => {
    let body = ''
    request.on('data', (d) => { body += d })
    request.on('end', () => {
      const q = new URLSearchParams(body)
      const [start, end, step] = ['start', 'end', 'step'].map((k) => parseFloat(q.get(k)))
      const [power, up, said] = [[[], [], []], [], { agrees: [], fault: [] }]
      for (let at = start, i = 0; at <= end; at += step, i++) {
        if (i < 6) continue
        const silent = i >= 60 && i < 72
        up.push([at, silent ? '0' : '1'])
        if (silent) continue
        power.forEach((all, k) => all.push([at, String((5000 + 3500 * Math.sin(i / 30 + k) + 400 * Math.sin(i * 7 + k)) * (k === 1 && i > 170 ? -1 : 1))]))
        said[i > 170 ? 'fault' : 'agrees'].push([at, '1'])
      }
      const of = { instance: 'desk', job: 'legwork' }
      const result = power.map((values, k) => ({ metric: { ...of, take: 'power', channel: String(k + 1) }, values }))
      result.push({ metric: { ...of, take: 'up', site: 'Building 1' }, values: up })
      for (const v in said) result.push({ metric: { ...of, take: 'verdict', legwork_verdict: v }, values: said[v] })
      response.end(JSON.stringify({ status: 'success', data: { resultType: 'matrix', result } }))
    })
  })
  await new Promise((done) => server.listen(0, '127.0.0.1', done))
  return server
}

// measure runs in the page.
function measure() {
  const out = []
  const width = document.documentElement.clientWidth
  if (document.scrollingElement.scrollWidth > width) out.push(`scrolls sideways: ${document.scrollingElement.scrollWidth} of ${width}`)
  for (const e of document.body.querySelectorAll('a, button, summary, select, input')) {
    const box = e.getBoundingClientRect()
    if (box.width > 0 && (box.height < 43.5 || box.width < 43.5)) out.push(`<${e.tagName.toLowerCase()}> is ${Math.round(box.width)} by ${Math.round(box.height)}: ${e.textContent.trim().slice(0, 30)}`) // WCAG 2.1, 2.5.5
  }
  return out
}

// contrast runs in the page: the least ratio between a text's colour and what is behind it, by WCAG 2.1 (relative luminance).
function contrast(selector) {
  const light = (c) => {
    const [r, g, b] = c.match(/[\d.]+/g).map(Number).map((x) => x / 255).map((x) => x <= 0.03928 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b
  }
  let least = Infinity
  for (const e of document.querySelectorAll(selector)) {
    let behind = e
    while (behind && getComputedStyle(behind).backgroundColor === 'rgba(0, 0, 0, 0)') behind = behind.parentElement
    const [a, b] = [light(getComputedStyle(e).color), light(behind ? getComputedStyle(behind).backgroundColor : 'rgb(255, 255, 255)')]
    least = Math.min(least, (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05))
  }
  return least
}

let passed = 0
async function open(browser, where, url, view, options = {}) {
  const context = await browser.newContext({ viewport: { width: view.width, height: view.height }, colorScheme: view.dark ? 'dark' : 'light', ...options })
  const page = await context.newPage()
  const origin = url.startsWith('http') ? new URL(url).origin : url
  page.on('console', (m) => { if (!page.quiet && (m.type() === 'error' || m.type() === 'warning')) fault(where, `console: ${m.text()}`) })
  page.on('pageerror', (e) => fault(where, `page error: ${e.message}`))
  page.on('request', (r) => { if (!r.url().startsWith(origin) && !r.url().startsWith('data:')) fault(where, `it asks for ${r.url()}`) })
  await page.goto(url)
  return page
}

async function inspect(page, where) {
  const ratio = await page.evaluate(contrast, '.verdict .word, .verdict .says, [data-c=status], summary > span:first-child')
  if (!(ratio >= 7 && ratio < 22)) fault(where, `a verdict has a contrast of ${ratio.toFixed(2)}`)
  for (const o of await page.evaluate(measure)) fault(where, o)
  await page.screenshot({ path: join(shots, `${where.replaceAll(' ', '-')}.png`), fullPage: true })
  await page.evaluate(axe)
  const result = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations'] }))
  for (const v of result.violations) fault(where, `axe ${v.id}: ${v.help}: ${v.nodes.slice(0, 2).map((n) => n.html.slice(0, 90)).join(' | ')}`)
  passed += result.passes.length
}

const names = (page) => page.$$eval('#meters > li', (all) => all.map((li) => li.dataset.name))

async function survey(browser) {
  const r = spawnSync(legwork, ['survey', 'sites.csv', '--timeout', '300ms', '-o', 'survey.html'], { cwd: work, encoding: 'utf8' })
  if (r.status !== 1) throw new Error(`survey ended with ${r.status}: ${r.stderr}`)
  const url = pathToFileURL(join(work, 'survey.html')).href
  for (const view of views) {
    const where = `survey ${view.name}`
    const page = await open(browser, where, url, view)
    await page.locator('summary').first().focus()
    await page.keyboard.press('Enter')
    if (!(await page.locator('details[open] svg.sketch').count())) fault(where, 'the first row does not open to its sketch by keyboard')
    await inspect(page, where)
    const lost = await names(page)
    await page.locator('button[data-by=name]').focus()
    await page.keyboard.press('Space')
    const sorted = await names(page)
    const want = [...lost].sort((a, b) => a.localeCompare(b, undefined, { numeric: true }))
    if (sorted.join() !== want.join()) fault(where, 'it is not sorted by name')
    await page.locator('button[data-by=lost]').click()
    if ((await names(page)).join() !== lost.join()) fault(where, 'it is not sorted by lost power again')
    await page.context().close()
  }
  const plain = await open(browser, 'survey without scripts', url, views[3], { javaScriptEnabled: false })
  if (await plain.locator('#sorts').isVisible()) fault('survey without scripts', 'buttons that do nothing are shown')
  await plain.locator('summary').first().click()
  if (!(await plain.locator('details[open]').count())) fault('survey without scripts', 'a row does not open')
  await plain.context().close()
}

// drawn holds a meter's page to its last day.
async function drawn(page, where) {
  const day = page.locator('svg.day')
  if (!(await day.count())) return fault(where, 'the last day is not drawn')
  const box = await day.boundingBox()
  if (box.width > page.viewportSize().width || box.height > 400) fault(where, `the last day is ${box.width} by ${box.height}`)
  const said = await page.locator('figcaption', { hasText: 'Means of 5 minutes' }).textContent()
  for (const want of ['channel 3', 'nothing was recorded', 'the meter did not answer', 'Verdict: agrees, fault from']) {
    if (!said.includes(want)) fault(where, `the last day does not say: ${want}`)
  }
}

async function desk(browser, yard) {
  const past = await history()
  const { process: serving, line } = await start('desk', 'sites.csv', '--listen', '127.0.0.1:0', '--every', '1s', '--timeout', '300ms',
    '--history', `promql+http://127.0.0.1:${past.address().port}`)
  await new Promise((done) => setTimeout(done, 4000))
  for (const view of views) {
    for (const [name, path] of [['list', '?sort=name'], ['filtered', '?q=suite&status=fault'], ['meter', 'meters/suite-1']]) {
      const where = `desk ${name} ${view.name}`
      const page = await open(browser, where, line + path, view)
      if (name === 'meter') await drawn(page, where)
      await inspect(page, where)
      await page.context().close()
    }
  }
  const plain = await open(browser, 'desk without scripts', line + 'meters/suite-1', views[0], { javaScriptEnabled: false })
  await drawn(plain, 'desk without scripts')
  await plain.emulateMedia({ media: 'print' })
  await plain.screenshot({ path: join(shots, 'desk-meter-print.png'), fullPage: true })
  await plain.context().close()
  past.close()
  const where = 'desk live'
  const page = await open(browser, where, line + '?sort=name', views[0])
  const row = page.locator('li[data-name=suite-2]')
  const before = await row.locator('[data-c=power]').textContent()
  await row.locator('a').focus()
  yard.process.stdin.write('suite-2 fault ct1-reversed\n')
  await page.waitForFunction((was) => document.querySelector('li[data-name=suite-2] [data-c=power]').textContent !== was, before, { timeout: 15000 })
    .catch(() => fault(where, 'the power of a meter does not change while the page is open'))
  if (!(await row.locator('a').evaluate((a) => a === document.activeElement))) fault(where, 'the focus is lost when a row changes')
  page.quiet = true // the end of the stream is told in the console
  serving.kill('SIGTERM')
  await page.waitForFunction(() => document.getElementById('state').textContent === 'not current', null, { timeout: 15000 })
    .catch(() => fault(where, 'it does not say that it is not current'))
  const code = await new Promise((done) => serving.exitCode !== null ? done(serving.exitCode) : serving.once('exit', done))
  if (code !== 0) fault('desk', `it ended with ${code}`)
  await page.context().close()
}

const browser = await chromium.launch({ executablePath, headless: true,
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'] })
try {
  const yard = await start('sim', '--fleet', '60', '--wires', '5', '--seed', '4', '--sites', 'sites.csv', '--control')
  await survey(browser)
  await desk(browser, yard)
} finally {
  await browser.close()
  for (const p of running) p.kill('SIGKILL')
  rmSync(work, { recursive: true, force: true, maxRetries: 3 })
}
faults.forEach((f) => console.error(f))
console.log(`survey and desk: ${faults.length} faults, ${passed} rules of axe-core passed`)
process.exit(faults.length ? 1 : 0)
