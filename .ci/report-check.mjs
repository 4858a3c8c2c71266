// Renders reports in headless Chromium as a phone, a desktop and paper have
// them, in light and dark, and holds that nothing overflows, nothing is loaded,
// the console stays silent, every drawing is seen with its names inside, the
// sketch comes before the phasors, verdicts have a contrast of 7:1, and axe-core
// finds no fault of contrast, names or structure.
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
const shots = folder && resolve(folder)
if (shots) mkdirSync(shots, { recursive: true })

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

// capture writes a capture in which a load of 8 A comes on on leg 1.
function capture(name) {
  const lines = []
  for (let i = 0; i < 14; i++) {
    const amps = [i < 9 ? 40 : 48, 42, 44]
    const channels = amps.map((a, k) => ({ voltage: 120, current: a, power: 120 * a, reactive: 0, angle: 0, voltage_angle: [0, -120, 120][k] }))
    lines.push(JSON.stringify({ at: `2026-05-04T09:30:${String(i).padStart(2, '0')}Z`, service: '120/208Y', channels, frequency: 60 }))
  }
  writeFileSync(join(work, name), lines.join('\n') + '\n')
}

// whole is a job with a result of every command in its record, one of which was
// read from a file with a name that is hostile.
function whole(name, site, title) {
  const keep = ['--keep', `${name}.yaml`]
  const reading = (list) => list.flatMap((r) => ['--reading', r])
  sheet(name, 'sim:kiln-house?fault=ct2-reversed', `service: 120/208Y\n${filled(site)}`)
  run('phasetest', ...keep, '--proved', ...reading(['1-N 120 V', 'A-1 0.2 V', 'B-1 208 V', 'C-1 207 V', '2-N 121 V', 'A-2 208 V', 'B-2 0.1 V', 'C-2 208 V', '3-N 120 V', 'A-3 208 V', 'B-3 208 V', 'C-3 0.2 V']))
  run('phasetest', ...keep, '--proved', ...reading(['1-N 120 V', 'A-1 208 V', 'B-1 0.2 V', 'C-1 207 V', '2-N 121 V', 'A-2 0.2 V', 'B-2 208 V', 'C-2 208 V', '3-N 120 V', 'A-3 208 V', 'B-3 208 V', 'C-3 0.2 V']))
  run('record', 'as-found', `${name}.yaml`)
  run('clamp', ...keep, '--interval', '1ms', ...reading(['leg 1: 87.3 A', 'leg 2: 97.6 A', 'leg 3: 92.0 A', 'leg 1: 120.4 V']))
  run('clamp', ...keep, '--interval', '1ms', ...reading(['leg 1: 97.6 A', 'leg 2: 87.3 A']))
  run('record', 'note', `${name}.yaml`, '--read', 'import: 12 345.6 kWh')
  run('record', 'note', `${name}.yaml`, '--move', 'Turned CT 2 round')
  sheet(name, 'sim:kiln-house', `service: 120/208Y\n${filled(site)}`)
  run('record', 'as-left', `${name}.yaml`)
  capture('step.jsonl')
  run('loadstep', 'step.jsonl', ...keep, '--leg', '1')
  run('pulses', ...keep, '--power', '33.18 kW', '--power-within', '0.2 %', '--constant', '1000 imp/kWh', '--count', '369', '--over', '40s')
  writeFileSync(join(work, 'reads.yaml'), `legwork-ledger: 1
meter: '${title.replaceAll("'", "''")}'
multiplier: 40
digits: 5
reads:
  - {at: 2026-05-04T09:00:00Z, kWh: 99 999.5, kWh.1: 10.0, kWh.2: 20.0, kWh.3: "30,0 kWh"}
  - {at: 2026-05-04T11:00:00Z, kWh: 0.5, kWh.1: 10.3, kWh.2: 20.3, kWh.3: 30.4}
  - {at: 2026-05-05T11:00:00Z, replaced: true, kWh: 0.0, kWh.1: 0.0}
  - {at: 2026-05-06T11:00:00Z, kWh: 12345.6, kWh.1: 4000.1}
`)
  run('ledger', 'reads.yaml', ...keep)
  run('record', 'note', `${name}.yaml`, '--read', 'import: 12 400.6 kWh')
  run('ledger', ...keep)
  run('energy', ...keep, '--as-found', '--registered', '10000 kWh', '--period', 'peak: 4000 kWh at 0.60', '--period', 'valley: 6000 kWh at 0.20')
  run('energy', ...keep, '--registered', '1234567 kWh', '--assume', 'ct 2 reversed', '--pf', '0.8..0.95')
}

function samples() {
  whole('whole', 'Tidewater kiln house', 'Tidewater kiln house, main meter')
  whole('whole-hostile', hostile, hostile)

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
  const all = ['whole', 'whole-hostile', 'kiln', 'hostile', 'open', 'no-angles', 'saw-shed', 'dye-works', 'boathouse-flat']
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
    if (box.width < 150 || box.height < 100) out.push(`a drawing of ${box.width} by ${box.height}`)
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
  const phasors = document.querySelectorAll('svg.phasors')
  const sketches = [...document.querySelectorAll('svg.sketch')]
  if (sketches.length === 0) out.push('there is no sketch')
  for (const p of phasors) if (!(sketches.at(-1)?.compareDocumentPosition(p) & Node.DOCUMENT_POSITION_FOLLOWING)) out.push('phasors come before the sketch')
  for (const svg of sketches) {
    const size = parseFloat(getComputedStyle(svg.querySelector('text')).fontSize) * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width
    if (width >= 390 && size < 12) out.push(`the sketch's letters are ${size.toFixed(1)} px`)
  }
  return { out, drawings: phasors.length }
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
  if ((drawings === 0) !== (name === 'no-angles')) fault(where, `${drawings} drawings of phasors`)
  const ratio = await page.evaluate(contrast, '.card .word, .card .word + p')
  if (!(ratio >= 7 && ratio < 22)) fault(where, `a verdict has a contrast of ${ratio.toFixed(2)}`)
  if (shots) await page.screenshot({ path: join(shots, `${name}-${view.name}.png`), fullPage: true })
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
    const pdf = await page.pdf({ path: shots && join(shots, `${name}-${format}.pdf`), format, preferCSSPageSize: false })
    const pages = (pdf.toString('latin1').match(/\/Type\s*\/Page\b/g) ?? []).length
    if (pages < 1 || pages > (name.startsWith('whole') ? 14 : 8)) fault(`${name} ${format}`, `${pages} pages`)
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
    // All views at once: a page waits for its frames more than it works.
    const looks = await Promise.all(views.map((view) => look(browser, name, view)))
    passed += looks.reduce((a, b) => a + b)
    await print(browser, name)
  }
} finally {
  await browser.close()
  rmSync(work, { recursive: true, force: true, maxRetries: 3 })
}
faults.forEach((f) => console.error(f))
console.log(`${names.length} reports in ${views.length} views and on two papers: ${faults.length} faults, ${passed} rules of axe-core passed`)
process.exit(faults.length ? 1 : 0)
