// check.mjs - the HTML sheets in a real browser: what stands in them, that it fits, that all can use it
// usage: node check.mjs quick|whole CHROMIUM OUT FILE.html... ; hostile.html and plain.html are held against each other
// Says what cmocka says, a line a test. whole leaves screenshots and prints in OUT; quick does what takes a second.
import { readFileSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { basename, join } from 'node:path'
import { pathToFileURL } from 'node:url'

const [much, program, out, ...files] = process.argv.slice(2)
const packages = createRequire(join(process.env.PACKAGES, 'package.json'))
const { chromium } = packages('playwright-core')
const axe = readFileSync(packages.resolve('axe-core/axe.min.js'), 'utf8')

const PHONE = { width: 360, height: 740 }, DESK = { width: 1200, height: 900 }
const PAPER = { width: Math.floor((210 - 28) / 25.4 * 96), height: 1000 } // A4 within its margins, CSS px
const TOUCH = 44 // CSS px, WCAG 2.2, 2.5.5
const PICTURE = 'https://localhost:9/picture.png' // asked for by a test alone: the policy keeps it from leaving
const LEAST_TEXT = 12 // CSS px of the smallest text that is seen

let failed = 0
async function test(name, body) {
    const faults = []
    try {
        await body(fault => faults.push(fault))
    } catch (e) {
        faults.push(e.stack)
    }
    for (const fault of faults.slice(0, 20))
        console.log(`${name}: ${fault}`)
    console.log(faults.length ? `[  FAILED  ] ${name}` : `[       OK ] ${name}`)
    failed += faults.length > 0
}

// ---- looked at within the page ----

// Where anything goes beyond the page, or the two parts of a row lie over each other.
function layoutFaults({ least, touch, printed }) {
    const faults = [], page = document.documentElement
    const name = e => `<${e.localName} class="${e.getAttribute('class') ?? ''}"> "${e.textContent.trim().slice(0, 40)}"`
    const unseen = e => e.closest('.sr, .skip, .shapes, caption') || getComputedStyle(e).clipPath !== 'none'
        || e.closest('thead') && getComputedStyle(e.closest('thead')).clipPath !== 'none' || e.getClientRects().length === 0
    if (page.scrollWidth > page.clientWidth)
        faults.push(`the page is ${page.scrollWidth} px wide and ${page.clientWidth} px are seen`)
    for (const e of document.body.querySelectorAll('*')) {
        if (unseen(e))
            continue
        const box = e.getBoundingClientRect()
        const aside = !printed && e.closest('.drawing') && !e.matches('.drawing') // at full size a drawing moves within its frame
        if (!aside && (box.right > page.clientWidth + 0.5 || box.left < -0.5))
            faults.push(`${name(e)} reaches from ${box.left} to ${box.right} px of ${page.clientWidth}`)
        const own = [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())
        if (own && !e.closest('svg') && parseFloat(getComputedStyle(e).fontSize) < least)
            faults.push(`${name(e)} is set in ${getComputedStyle(e).fontSize}`)
        const drawing = e.localName === 'text' && e.closest('svg')
        const whole = drawing && e.closest('figure').querySelector('.full input:not(:checked)') // seen whole, and there is a box for its full size
        if (drawing && !(whole && whole.getClientRects().length) && parseFloat(e.getAttribute('font-size')) * drawing.getBoundingClientRect().width / drawing.viewBox.baseVal.width < least - 0.1)
            faults.push(`${name(e)} is drawn too small`)
        if (own && e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline' && !e.closest('svg'))
            faults.push(`${name(e)} holds more than it shows`)
        if (!printed && e.matches('input, nav a, .back, .parts a') && (box.height < touch - 0.5 || box.width < touch - 0.5))
            faults.push(`${name(e)} is ${box.width} by ${box.height} px to touch`)
    }
    // 4-13/16, 10' 4-13/16", up 3/8 in, 9 ft 4-1/2 in and 1.2 m on one line: a part of them alone would be misread
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), range = document.createRange()
    const figure = /(?<![\w<])((up|down|high|low|long|short|inward|outward|\+-) )?(\d+(' | ft | deg ))?[\d./-]*\d( (in|ft|mm|m|deg|min|ft2|ft3|yd3|m3|lb)\b|["'])?/g
    for (let n; (n = walker.nextNode());)
        for (const m of n.parentElement.closest('svg, style') ? [] : n.data.matchAll(figure)) {
            if (m[0].length > 24)
                continue // no figure of a building: broken, lest it leave the page
            range.setStart(n, m.index)
            range.setEnd(n, m.index + m[0].length)
            if (new Set([...range.getClientRects()].filter(r => r.width > 0).map(r => Math.round(r.bottom))).size > 1)
                faults.push(`${m[0]} is broken`)
        }
    for (const row of document.querySelectorAll('tbody tr')) {
        const cells = [...row.children].filter(c => !unseen(c)).map(c => [c, c.getBoundingClientRect()])
        for (const [i, [a, p]] of cells.entries())
            for (const [b, q] of cells.slice(i + 1))
                if (p.left < q.right - 1 && q.left < p.right - 1 && p.top < q.bottom - 1 && q.top < p.bottom - 1)
                    faults.push(`${name(a)} and ${name(b)} overlap`)
    }
    return faults
}

// The page read as XML holds the same as the page read as HTML.
function xmlFaults(source) {
    const read = new DOMParser().parseFromString(source, 'application/xhtml+xml')
    const error = read.querySelector('parsererror')
    if (error)
        return [error.textContent.slice(0, 200)]
    const tags = d => [...d.querySelectorAll('*')].map(e => e.localName + [...e.attributes].map(a => ` ${a.name}=${a.value}`).join('')).join('\n')
    const asHtml = new DOMParser().parseFromString(source, 'text/html')
    const faults = []
    if (tags(read) !== tags(asHtml))
        faults.push('elements or attributes are not the same as XML and as HTML')
    if (read.documentElement.textContent.trim() !== asHtml.documentElement.textContent.trim())
        faults.push('the text is not the same as XML and as HTML')
    return faults
}

// Elements and attributes that we write; whatever else stands in a page came from a record.
function foreignFaults() {
    const elements = new Set(('html head meta title style body a svg symbol use path circle text tspan g desc header h1 h2 h3 h4 p nav ul li main section ' +
        'table caption colgroup col thead tbody tr th td div span strong s i bdi label input figure figcaption footer').split(' '))
    const attributes = new Set(('xmlns lang xml:lang charset http-equiv content name class href id width height viewBox d fill stroke stroke-width ' +
        'stroke-dasharray cx cy r x y font-size font-weight font-family textLength lengthAdjust text-anchor transform role tabindex aria-label aria-labelledby ' +
        'aria-describedby aria-hidden focusable scope colspan data-label type inputmode maxlength size autocomplete spellcheck').split(' '))
    const faults = []
    for (const e of document.querySelectorAll('*')) {
        if (!elements.has(e.localName))
            faults.push(`<${e.localName}> is none of ours`)
        for (const a of e.attributes)
            if (!attributes.has(a.name))
                faults.push(`${a.name} of <${e.localName}> is none of ours`)
        if (e.hasAttribute('href') && !/^#[a-z0-9-]+$/.test(e.getAttribute('href')))
            faults.push(`href ${e.getAttribute('href')}`)
    }
    const ids = [...document.querySelectorAll('[id]')].map(e => e.id)
    for (const id of ids.filter((id, i) => ids.indexOf(id) !== i))
        faults.push(`id ${id} stands twice`)
    for (const e of document.querySelectorAll('[aria-labelledby], [aria-describedby]'))
        for (const id of `${e.getAttribute('aria-labelledby') ?? ''} ${e.getAttribute('aria-describedby') ?? ''}`.trim().split(/ +/))
            if (!document.getElementById(id))
                faults.push(`no id ${id}`)
    return faults
}

function tableFaults() {
    const faults = []
    for (const t of document.querySelectorAll('table')) {
        const where = t.caption?.textContent.trim() ?? ''
        const heads = [...t.tHead?.rows ?? []].find(r => !r.matches('.again')), columns = heads?.cells.length
        if (!where)
            faults.push('a table has no caption')
        if (![...heads.cells].every(c => c.matches('th[scope=col]') && c.textContent.trim()))
            faults.push(`${where}: a heading is no th with scope col`)
        for (const row of t.tBodies[0].rows) {
            if (row.cells.length !== columns)
                faults.push(`${where}: a row has ${row.cells.length} cells of ${columns}`)
            if (!row.cells[0].matches('th[scope=row]'))
                faults.push(`${where}: a row does not begin with a th with scope row`)
        }
    }
    for (const box of document.querySelectorAll('.done input'))
        if (!box.labels.length || !/done/.test(box.labels[0].textContent))
            faults.push('a box to tick has no label')
    return faults
}

// Nothing is cut off and nothing moves sideways, however narrow the screen; a table that is too wide for it is cards, with labels.
function narrowFaults() {
    const faults = [], page = document.documentElement
    if (page.scrollWidth > page.clientWidth)
        faults.push(`the page is ${page.scrollWidth} px wide and ${page.clientWidth} px are seen`)
    for (const e of document.querySelectorAll('main *:not(svg *)')) {
        const style = getComputedStyle(e)
        if (style.overflowX !== 'visible' && style.clipPath === 'none' && e.scrollWidth > e.clientWidth + 1 && !e.matches('input, .drawing'))
            faults.push(`<${e.localName} class="${e.className}"> hides a part of what it holds`)
    }
    for (const cell of document.querySelectorAll('.flow [data-label], .stakes [data-label]')) {
        const card = getComputedStyle(cell.parentElement).display === 'flex', label = getComputedStyle(cell, '::before')
        const said = label.display !== 'none' && label.content.includes(cell.dataset.label)
        if (cell.getClientRects().length && card && !said && !/^(on|remarks)$/.test(cell.dataset.label))
            faults.push(`"${cell.textContent}" is not said to be ${cell.dataset.label}`)
    }
    return faults
}

// Sheets are regions, and nothing else; each heading is one deeper than the one above it at most; every way back leads to the list.
function orderFaults() {
    const faults = [], sheets = document.querySelectorAll('main > section')
    const regions = document.querySelectorAll('[role=region], section')
    if (regions.length !== sheets.length)
        faults.push(`${regions.length} regions for ${sheets.length} sheets`)
    let before = 1
    for (const h of document.querySelectorAll('h1, h2, h3, h4')) {
        const rank = Number(h.localName[1])
        if (rank > before + 1)
            faults.push(`"${h.textContent}" is h${rank} below h${before}`)
        before = rank
    }
    for (const sheet of sheets)
        if (sheet.querySelector('.back')?.getAttribute('href') !== '#sheets')
            faults.push(`no way back from ${sheet.id}`)
    return faults
}

// On paper nothing is in colour, headings stay with what they head, and each page says which marks it has.
function paperFaults() {
    const faults = [], grey = c => /^(none|rgba?\((\d+), \2, \2(, [\d.]+)?\)|url.*)$/.test(c)
    for (const e of document.querySelectorAll('main *')) {
        const style = getComputedStyle(e)
        const near = (a, b) => Math.abs(a - b) < 6 // the pale ground of drawings is a little yellow
        const plain = c => grey(c) || (m => m && near(+m[1], +m[2]) && near(+m[2], +m[3]))(c.match(/^rgb\((\d+), (\d+), (\d+)\)$/))
        for (const name of e.closest('svg') ? ['fill', 'stroke'] : ['color'])
            if (!plain(style[name]))
                faults.push(`${name} of <${e.localName}> is ${style[name]}`)
        if (e.matches('h2, h3, .before') && style.breakAfter !== 'avoid')
            faults.push(`"${e.textContent.slice(0, 40)}" may stand alone at the foot of a page`)
        if (e.matches('.together, tr, p') && style.breakInside !== 'avoid')
            faults.push(`"${e.textContent.slice(0, 40)}" may be broken over pages`)
        if (e.matches('thead') && style.display !== 'table-header-group')
            faults.push('headings do not stand on each page')
        if (e.matches('.again') && (style.display !== 'table-row' || !/^Grade .+: ./.test(e.textContent)))
            faults.push(`"${e.textContent}" does not say on each page which marks it has`)
    }
    return faults
}

// ---- tests ----

const browser = await chromium.launch({ executablePath: program, args: ['--no-sandbox', '--force-color-profile=srgb', '--font-render-hinting=none'] })

async function open(file, viewport, colorScheme, complain) {
    const context = await browser.newContext({ viewport, colorScheme, deviceScaleFactor: viewport === PHONE ? 2 : 1 })
    const page = await context.newPage(), own = pathToFileURL(file).href
    page.on('console', m => complain(`console: ${m.text()}`))
    page.on('pageerror', e => complain(`error: ${e}`))
    page.on('request', r => r.url() === own || r.url() === PICTURE || complain(`asks for ${r.url()}`))
    await page.goto(own)
    return page
}

async function axeFaults(page) {
    await page.evaluate(axe)
    const found = await page.evaluate(() => window.axe.run(document, { rules: { 'color-contrast-enhanced': { enabled: true } } }))
    return found.violations.flatMap(v => v.nodes.map(n => `${v.id}: ${n.html.slice(0, 160)} ${n.failureSummary.replace(/\s+/g, ' ').slice(0, 200)}`))
}

async function checkSeen(file, name, viewport, scheme) {
    const where = `${name} at ${viewport.width} px, ${scheme}`
    await test(where, async complain => {
        const page = await open(file, viewport, scheme, complain)
        await page.screenshot({ path: join(out, `${name}-${viewport.width}-${scheme}.png`), fullPage: true })
        for (const fault of await page.evaluate(layoutFaults, { least: LEAST_TEXT, touch: TOUCH, printed: false }))
            complain(fault)
        for (const fault of await axeFaults(page))
            complain(fault)
        await page.context().close()
    })
}

async function checkPrinted(file, name) {
    await test(`${name} printed`, async complain => {
        const page = await open(file, PAPER, 'light', complain)
        await page.emulateMedia({ media: 'print', colorScheme: 'light' })
        for (const fault of await page.evaluate(layoutFaults, { least: 0, touch: TOUCH, printed: true }))
            complain(fault)
        for (const fault of await page.evaluate(paperFaults))
            complain(fault)
        if (await page.locator('nav').isVisible())
            complain('the list of sheets is printed')
        writeFileSync(join(out, `${name}.pdf`), await page.pdf({ preferCSSPageSize: true }))
        await page.context().close()
    })
}

async function checkBuilt(file, name) {
    await test(`${name}: elements, tables, links, and all of it fits`, async complain => {
        const page = await open(file, PHONE, 'light', complain)
        for (const fault of await page.evaluate(layoutFaults, { least: LEAST_TEXT, touch: TOUCH, printed: false }))
            complain(fault)
        for (const look of [foreignFaults, tableFaults, orderFaults])
            for (const fault of await page.evaluate(look))
                complain(fault)
        for (const fault of await page.evaluate(xmlFaults, readFileSync(file, 'utf8')))
            complain(fault)
        await page.context().close()
    })
}

// From a small telephone to a wide screen, and on both sides of each width at which tables become cards.
async function checkNarrow(file, name) {
    await test(`${name} on screens of many widths: nothing cut, nothing sideways`, async complain => {
        const page = await open(file, PHONE, 'light', complain)
        for (const width of [320, 340, 358, 360, 412, 480, 639, 641, 800, 992, 993, 1100, 1600]) {
            await page.setViewportSize({ width, height: PHONE.height })
            for (const fault of await page.evaluate(narrowFaults))
                complain(`at ${width} px: ${fault}`)
        }
        await page.context().close()
    })
}

// A drawing is seen whole at first; at full size it can be read, moves within its frame, and the page stays as wide as it was.
async function checkDrawings(file, name) {
    await test(`${name}: drawings whole, and at full size`, async complain => {
        const page = await open(file, PHONE, 'light', complain)
        for (const whole of await page.evaluate(() => [...document.querySelectorAll('.drawing')].map(d => d.scrollWidth <= d.clientWidth)))
            if (!whole)
                complain('a drawing is not seen whole')
        for (const box of await page.locator('.full input').all())
            await box.check()
        if (!await page.evaluate(() => [...document.querySelectorAll('.drawing')].every(d => d.scrollWidth > 2 * d.clientWidth && getComputedStyle(d).maskImage !== 'none')))
            complain('a drawing at full size does not move in its frame, or ends there sharply')
        for (const fault of await page.evaluate(layoutFaults, { least: LEAST_TEXT, touch: TOUCH, printed: false }))
            complain(fault)
        await page.context().close()
    })
}

// Used with keys alone: the link past the list, boxes, and fields.
async function checkUsed(file, name) {
    await test(`${name}: used with keys, nothing of it runs`, async complain => {
        const blocked = []
        const page = await open(file, PHONE, 'light', fault => /Content Security Policy/.test(fault) ? blocked.push(fault) : complain(fault))
        await page.keyboard.press('Tab')
        if (!await page.evaluate(() => document.activeElement.matches('.skip') && document.activeElement.getBoundingClientRect().left >= 0))
            complain('the first key does not lead to the link past the list')
        await page.keyboard.press('Enter')
        if (!await page.evaluate(() => document.activeElement.id === 'main'))
            complain('the link past the list does not lead there')
        await page.locator('.done label').first().click()
        if (!await page.locator('.done input').first().isChecked())
            complain('a box is not ticked by its label')
        await page.evaluate(url => {
            const script = document.createElement('script')
            script.textContent = 'window.ran = true'
            document.body.append(script)
            const style = document.createElement('style')
            style.textContent = 'body{visibility:hidden}'
            document.body.append(style)
            const picture = new Image()
            picture.src = url
            document.body.append(picture)
        }, PICTURE)
        if (await page.evaluate(() => window.ran || getComputedStyle(document.body).visibility === 'hidden'))
            complain('a script or a style that was put in had its way')
        if (blocked.length < 3)
            complain(`the policy blocked ${blocked.length} of 3`)
        await page.context().close()
    })
}

// A record with hostile texts makes the elements of one with plain texts, and its texts come out as they are.
async function checkHostile(hostile, plain) {
    await test('hostile texts are texts and nothing else', async complain => {
        const texts = readFileSync(join(import.meta.dirname, 'hostile.txt'), 'utf8').trim().split('\n')
        const pages = []
        for (const file of [hostile, plain])
            pages.push(await open(file, DESK, 'light', complain))
        // labels of drawings stand where they have room, so that drawings and their pages differ; foreignFaults() looks into them
        const skeleton = () => [...document.querySelectorAll('*:not(bdi, i, figure, figure *, .drawings, .drawings *)')].map(e => e.localName + [...e.attributes].map(a => ` ${a.name}`).join('')).join('\n')
        const [a, b] = [await pages[0].evaluate(skeleton), await pages[1].evaluate(skeleton)]
        if (a !== b)
            complain(`the elements are not the same: ${a.length} and ${b.length} characters of them`)
        const found = await pages[0].evaluate(() => document.documentElement.textContent)
        for (const text of texts)
            if (!found.includes(text))
                complain(`not found: ${text}`)
        if (!(await pages[0].title()).startsWith(texts[0]))
            complain(`the title is ${await pages[0].title()}`)
        for (const page of pages)
            await page.context().close()
    })
}

for (const file of files) {
    const name = basename(file, '.html')
    await checkBuilt(file, name)
    if (much === 'quick')
        continue
    for (const viewport of [PHONE, DESK])
        for (const scheme of ['light', 'dark'])
            await checkSeen(file, name, viewport, scheme)
    await checkNarrow(file, name)
    await checkDrawings(file, name)
    await checkPrinted(file, name)
    await checkUsed(file, name)
}
const hostile = files.find(f => basename(f) === 'hostile.html'), plain = files.find(f => basename(f) === 'plain.html')
if (hostile && plain)
    await checkHostile(hostile, plain)
await browser.close()
process.exitCode = failed ? 1 : 0
