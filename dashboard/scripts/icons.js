// Draws the icons of the installed app from public/mark.svg. The maskable one has room round the mark and square corners.
import { chromium } from '@playwright/test'
import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import path from 'node:path'
import { fileURLToPath } from 'node:url'

const folder = path.join(path.dirname(fileURLToPath(import.meta.url)), '..', 'public')
const mark = readFileSync(path.join(folder, 'mark.svg'), 'utf8')
const masked = mark.replace('viewBox="0 0 32 32"', 'viewBox="-6 -6 44 44"').replace(/<rect [^>]*\/>/, '')
const ground = /fill="(#[0-9a-f]{6})"/.exec(mark)?.[1] ?? '#000'

const found = (process.env.PATH ?? '').split(path.delimiter).map((p) => path.join(p, 'chromium'))
const executablePath = process.env.CHROMIUM ?? found.find((file) => existsSync(file))
const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] })
for (const [name, size, svg, back] of [
  ['icon-192', 192, mark, 'transparent'],
  ['icon-512', 512, mark, 'transparent'],
  ['icon-mask', 512, masked, ground],
]) {
  const page = await browser.newPage({ viewport: { width: size, height: size } })
  const drawn = svg.replace('<svg ', `<svg width="${size}" height="${size}" style="display:block" `)
  await page.setContent(`<body style="margin:0;background:${back}">${drawn}</body>`)
  writeFileSync(path.join(folder, `${name}.png`), await page.screenshot({ omitBackground: true }))
  await page.close()
}
await browser.close()
