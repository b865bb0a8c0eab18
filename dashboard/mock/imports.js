// Reads a register file roughly the way the contract describes, so that the import screen has something to show.
import { nextId } from './agency.js'

const KNOWN = {
  tag: ['asset tag', 'tag', 'asset'],
  model: ['model', 'type'],
  serial: ['serial', 'serial no', 's/n'],
  place: ['assigned to', 'unit', 'rig', 'place', 'location'],
  made_on: ['made', 'date of make', 'mfg date'],
  note: ['note', 'remarks'],
}

export function readRegister(world, text, fileName, dryRun, mapping) {
  const lines = text.split(/\r?\n/)
  const delimiter = (lines[0] ?? '').includes(';') ? ';' : ','
  const head = (lines[0] ?? '').split(delimiter).map((c) => c.trim())
  const columns = head.map((column) => {
    const chosen = mapping?.[column]
    if (chosen !== undefined) return { column, field: chosen || null, how: 'chosen' }
    const field = Object.keys(KNOWN).find((f) => KNOWN[f].includes(column.toLowerCase())) ?? null
    return { column, field, how: field ? 'by_name' : 'unknown' }
  })
  const at = (field) => columns.findIndex((c) => c.field === field)
  const rows = []
  const refused = []
  const passed_over = []
  const pieces = []
  const id = nextId()
  const tags = new Set(world.all('piece').map((p) => p.tag))
  lines.slice(1).forEach((line, i) => {
    const number = i + 2
    if (!line.trim()) return void passed_over.push({ line: number, words: 'empty line' })
    const cells = line.split(delimiter).map((c) => c.trim())
    const tag = cells[at('tag')] ?? ''
    const model = world
      .all('model')
      .find((m) => m.name.toLowerCase() === (cells[at('model')] ?? '').toLowerCase())
    const rig = world
      .all('rig')
      .find((r) => r.name.toLowerCase() === (cells[at('place')] ?? '').toLowerCase())
    const no = (column, code, reason, hint) => {
      refused.push({ line: number, column: head[at(column)] ?? null, code, reason, hint })
      rows.push({ line: number, tag: tag || null, fate: 'refused', words: reason })
    }
    if (!tag) return no('tag', 'tag-missing', 'no tag', 'Give every piece its own tag.')
    if (tags.has(tag))
      return no(
        'tag',
        'tag-taken',
        `tag ${tag} is already in the register`,
        'A tag is never used twice. Use a new one.',
      )
    if (!model)
      return no(
        'model',
        'model-unknown',
        `model “${cells[at('model')] ?? ''}” is not in the catalogue`,
        'Add the model first or correct its name.',
      )
    tags.add(tag)
    rows.push({
      line: number,
      tag,
      fate: 'new',
      words: `${model.name}${rig ? `, on ${rig.name}` : ', place not given: reserve shelf'}`,
    })
    const place = rig ? { at: 'rig', rig: rig.id } : { at: 'shelf', station: world.all('station')[0].id }
    pieces.push({
      id: nextId(),
      rev: 0,
      tag,
      model: model.id,
      kind: model.kind,
      serial: cells[at('serial')] || null,
      made_on: null,
      in_service_since: null,
      last_service_on: null,
      state: 'in_service',
      state_since: new Date().toISOString(),
      state_reason: null,
      state_by: 'Import',
      holds: [],
      place,
      home: place,
      tool_set: null,
      note: null,
      import: id,
    })
  })
  if (!dryRun) for (const p of pieces) world.save('piece', p)
  const run = {
    id,
    dry_run: dryRun,
    encoding: 'utf-8',
    delimiter,
    date_order: 'day first',
    columns,
    accepted: pieces.length,
    refused,
    passed_over,
    notes: [{ line: null, words: 'Dates were read day first.' }],
    creates: { districts: 0, stations: 0, rigs: 0, models: 0, pieces: pieces.length },
    rows,
  }
  if (!dryRun)
    world.save('import', {
      id,
      rev: 0,
      file_name: fileName,
      at: new Date().toISOString(),
      by: 'Ines Talbrook',
      accepted: pieces.length,
      refused: refused.length,
      undone_at: null,
    })
  return run
}
