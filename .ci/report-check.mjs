// Renders reports in headless Chromium as a phone, a desktop and paper have
// them, in light and dark, and holds that nothing overflows, nothing is loaded,
// the console stays silent, every drawing is seen with its names inside, and
// axe-core finds no fault of contrast, names or structure.
//
//   node .ci/report-check.mjs LEGWORK [FOLDER]
//
// LEGWORK is the built command; screenshots and PDFs go to FOLDER. Needs
// chromium (CHROMIUM, or /usr/bin/chromium) and playwright-core and axe-core
// below NODE_MODULES, or here.
import { execFileSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync, mkdirSync } from 'node:fs'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'

const [legwork, folder] = process.argv.slice(2)
if (!legwork) {
  console.error('say: node .ci/report-check.mjs LEGWORK [FOLDER]')
  process.exit(2)
}
const require = createRequire(join(resolve(process.env.NODE_MODULES ?? '.'), 'from-here.js'))
const { chromium } = require('playwright-core')
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8')

const work = mkdtempSync(join(tmpdir(), 'legwork-report-'))
const shots = folder ? resolve(folder) : join(work, 'shots')
mkdirSync(shots, { recursive: true })

// run is legwork; exit statuses 0, 1 and 3 are verdicts.
function run(...args) {
  try {
    return execFileSync(resolve(legwork), args, { cwd: work, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] })
  } catch (e) {
    if (e.status === 1 || e.status === 3) return e.stdout
    throw new Error(`legwork ${args.join(' ')}: ${e.stderr}`)
  }
}

// sheet writes a job sheet.
function sheet(name, meter, more) {
  writeFileSync(join(work, `${name}.yaml`), `legwork-job: 1\nmeter: '${meter}'\n${more}\n`)
}

const long = 'abcdefghij'.repeat(30)
const hostile = `<script>alert(1)</script> "quoted" & <img src=http://127.0.0.1:9/x onerror=alert(2)> ${long} }</style>`
const filled = (site) => `site: '${site.replaceAll("'", "''")}'
panel: 'Panel K2, kiln room'
metered: mains
cts: {output: current, secondary: 5 A, primary: 200 A}
legs: {1: red, 2: black, 3: blue, neutral: white, earth: green}
reference_breaker: 'panel K2, circuits 38-40-42, three-pole 15 A'
people: {technician: R. Quill, electrician: M. Sandoval, witness: ''}
remarks: 'Kilns on at half power for both readings.'`

function samples() {
  sheet('kiln', 'sim:kiln-house?fault=ct2-reversed,ct1-ct3-crossed', filled('Tidewater kiln house'))
  run('record', 'as-found', 'kiln.yaml')
  run('record', 'note', 'kiln.yaml', '--remark', 'Supply off, locked out and tagged; proved dead', '--read', 'import: 12 345.6 kWh')
  run('record', 'note', 'kiln.yaml', '--move', 'Turned CT 2 round', '--move', 'Exchanged the lead pairs of CTs 1 and 3')
  run('record', 'note', 'kiln.yaml', '--test', 'ct 2 arrow right')
  sheet('kiln', 'sim:kiln-house', filled('Tidewater kiln house'))
  run('record', 'as-left', 'kiln.yaml')

  sheet('hostile', 'sim:kiln-house', filled(hostile))
  run('record', 'as-found', 'hostile.yaml')
  run('record', 'note', 'hostile.yaml', '--remark', hostile, '--move', long, '--read', `${long}: 1 kWh`)

  sheet('open', 'sim:kiln-house?fault=ct2-open', filled('Undecided so far'))
  run('record', 'as-found', 'open.yaml')
  sheet('no-angles', 'sim:cottage-bakery?fault=cts-reversed', filled('A meter that gives no angles'))
  run('record', 'as-found', 'no-angles.yaml')
  for (const place of ['saw-shed', 'dye-works', 'boathouse-flat']) {
    sheet(place, `sim:${place}?fault=ct1-reversed`, filled(place))
    run('record', 'as-found', `${place}.yaml`)
    sheet(place, `sim:${place}`, filled(place))
    run('record', 'as-left', `${place}.yaml`)
  }
  const all = ['kiln', 'hostile', 'open', 'no-angles', 'saw-shed', 'dye-works', 'boathouse-flat']
  for (const name of all) run('report', `${name}.yaml`, '-o', `${name}.html`)
  return all
}

const faults = []
const fault = (where, what) => faults.push(`${where}: ${what}`)

// Widths in CSS pixels: a phone, a desktop, and what A4 and Letter leave between
// the margins of the page (182 mm and 187.9 mm at 96 to the inch).
const views = [
  { name: 'phone', width: 390, height: 844 },
  { name: 'phone-dark', width: 390, height: 844, dark: true },
  { name: 'narrow', width: 320, height: 640 }, // WCAG 2.1, 1.4.10 (reflow)
  { name: 'desktop', width: 1280, height: 900 },
  { name: 'desktop-dark', width: 1280, height: 900, dark: true },
  { name: 'a4', width: 688, height: 970, print: true },
  { name: 'letter', width: 710, height: 900, print: true },
  { name: 'a4-dark', width: 688, height: 970, print: true, dark: true },
]

// measure runs in the page.
function measure() {
  const out = []
  const width = document.documentElement.clientWidth
  if (document.scrollingElement.scrollWidth > width) out.push(`scrolls sideways: ${document.scrollingElement.scrollWidth} of ${width}`)
  for (const e of document.body.querySelectorAll('*')) {
    if (width < 390 && e.closest('.wide table')) continue // tables may scroll in their own box there
    const box = e.getBoundingClientRect()
    if (box.width > 0 && (box.right > width + 1 || box.left < -1)) out.push(`<${e.tagName.toLowerCase()}> reaches ${Math.round(box.right)} of ${width}: ${e.textContent.trim().replaceAll(/\s+/g, ' ').slice(0, 40)}`)
  }
  if (width >= 390) {
    for (const e of document.querySelectorAll('.wide')) {
      if (e.scrollWidth > e.clientWidth + 1) out.push(`the table "${e.getAttribute('aria-label')}" is ${e.scrollWidth} wide in ${e.clientWidth}`)
    }
  }
  const drawings = [...document.querySelectorAll('svg')]
  for (const svg of drawings) {
    const box = svg.getBoundingClientRect()
    if (box.width < 150 || box.height < 150) out.push(`a drawing of ${box.width} by ${box.height}`)
    if (!svg.querySelector('title')?.textContent || !svg.querySelector('desc')?.textContent) out.push('a drawing without title or desc')
    const names = [...svg.querySelectorAll('text')].map((t) => [t.textContent, t.getBoundingClientRect()])
    for (const [text, b] of names) {
      if (b.left < box.left || b.right > box.right || b.top < box.top || b.bottom > box.bottom) out.push(`${text} lies outside its drawing`)
    }
    for (let i = 0; i < names.length; i++) {
      for (let k = i + 1; k < names.length; k++) {
        const [a, b] = [names[i][1], names[k][1]]
        const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left)
        const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top)
        if (wide > 1 && high > 4) out.push(`${names[i][0]} and ${names[k][0]} lie on each other`)
      }
    }
  }
  if (document.querySelector('script')) out.push('there is a script')
  return { out, drawings: drawings.length }
}

async function look(browser, name, view) {
  const where = `${name} ${view.name}`
  const context = await browser.newContext({ viewport: { width: view.width, height: view.height }, colorScheme: view.dark ? 'dark' : 'light' })
  const page = await context.newPage()
  const url = pathToFileURL(join(work, `${name}.html`)).href
  page.on('console', (m) => { if (m.type() === 'error' || m.type() === 'warning') fault(where, `console: ${m.text()}`) })
  page.on('pageerror', (e) => fault(where, `page error: ${e.message}`))
  page.on('dialog', (d) => { fault(where, 'a dialog opened'); d.dismiss() })
  page.on('request', (r) => { if (r.url() !== url) fault(where, `it asks for ${r.url()}`) })
  if (view.print) await page.emulateMedia({ media: 'print', colorScheme: view.dark ? 'dark' : 'light' })
  await page.goto(url)
  const { out, drawings } = await page.evaluate(measure)
  out.forEach((o) => fault(where, o))
  if ((drawings === 0) !== (name === 'no-angles')) fault(where, `${drawings} drawings`)
  await page.screenshot({ path: join(shots, `${name}-${view.name}.png`), fullPage: true })
  await page.evaluate(axe)
  const result = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations', 'incomplete'] }))
  for (const v of result.violations) fault(where, `axe ${v.id}: ${v.help}: ${v.nodes.slice(0, 2).map((n) => n.html.slice(0, 90)).join(' | ')}`)
  await context.close()
  return result.passes.length
}

async function print(browser, name) {
  const page = await browser.newPage()
  await page.goto(pathToFileURL(join(work, `${name}.html`)).href)
  for (const format of ['A4', 'Letter']) {
    const pdf = await page.pdf({ path: join(shots, `${name}-${format}.pdf`), format, preferCSSPageSize: false })
    const pages = (pdf.toString('latin1').match(/\/Type\s*\/Page\b/g) ?? []).length
    if (pages < 1 || pages > 8) fault(`${name} ${format}`, `${pages} pages`)
  }
  await page.close()
}

const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium'
if (!existsSync(executablePath)) throw new Error(`there is no ${executablePath}; set CHROMIUM`)
const names = samples()
const browser = await chromium.launch({
  executablePath,
  headless: true,
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
})
let passed = 0
try {
  for (const name of names) {
    for (const view of views) passed += await look(browser, name, view)
    await print(browser, name)
  }
} finally {
  await browser.close()
  rmSync(work, { recursive: true, force: true, maxRetries: 3 })
}
faults.forEach((f) => console.error(f))
console.log(`${names.length} reports in ${views.length} views and on two papers: ${faults.length} faults, ${passed} rules of axe-core passed`)
process.exit(faults.length ? 1 : 0)
