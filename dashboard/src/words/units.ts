// One system of units in a view: what was typed in the other one is converted for show only.
// Decisions are made by the server on the exact value; nothing here is compared with anything.
type System = 'us' | 'si'

interface Unit {
  /** How many of the SI unit shown one of these is. */
  factor: number
  us: string
  si: string
}
const UNITS = new Map<string, Unit>()

function family(us: string, si: string, members: Record<string, number>) {
  for (const [unit, factor] of Object.entries(members)) UNITS.set(unit, { factor, us, si })
}
family('lbf', 'kN', { N: 0.001, kN: 1, kgf: 0.00980665, lbf: 0.0044482216152605 })
family('in', 'mm', { mm: 1, cm: 10, in: 25.4 })
family('ft', 'm', { m: 1, ft: 0.3048 })
family('psi', 'bar', { kPa: 0.01, bar: 1, MPa: 10, psi: 0.0689475729 })
family('lb', 'kg', { g: 0.001, kg: 1, lb: 0.45359237 })
family('US gal', 'L', { mL: 0.001, L: 1, 'US gal': 3.785411784, gal: 3.785411784 })
family('gal/min', 'L/min', { 'L/min': 1, 'gal/min': 3.785411784 })
family('hp', 'kW', { kW: 1, PS: 0.73549875, hp: 0.74569987 })

export function quantity(
  q: { value?: number | null; unit?: string | null } | null | undefined,
  system: System,
): string {
  if (!q || q.value === undefined || q.value === null) return 'unknown'
  const unit = q.unit ?? ''
  const known = UNITS.get(unit)
  if (!known) return `${number(q.value)} ${unit}`.trim()
  const target = known[system]
  if (unit === target) return `${number(q.value)} ${target}`
  const value = (q.value * known.factor) / (UNITS.get(target)?.factor ?? 1)
  return `${number(significant(value))} ${target}`
}

/** Three figures, four above a thousand: a converted value must not look more exact than the one that was typed. */
function significant(value: number): number {
  return value === 0 ? 0 : Number(value.toPrecision(Math.abs(value) >= 1000 ? 4 : 3))
}
const number = (value: number) => new Intl.NumberFormat('en', { maximumFractionDigits: 2 }).format(value)

/** The value in another unit of the same kind; null where one of them is not known here. */
export function valueIn(q: { value: number; unit: string } | null | undefined, unit: string): number | null {
  if (!q) return null
  if (q.unit === unit) return q.value
  const [from, to] = [UNITS.get(q.unit), UNITS.get(unit)]
  return from && to && from.si === to.si ? (q.value * from.factor) / to.factor : null
}

/** Driving distance comes in kilometres; miles where the agency speaks US customary. */
export function distance(km: number | null | undefined, system: System): string {
  if (km === null || km === undefined) return 'distance unknown'
  const value = system === 'us' ? km / 1.609344 : km
  return `${number(Math.round(value * 10) / 10)} ${system === 'us' ? 'mi' : 'km'}`
}

/** A length too short for the register's units: hundredths of a millimetre, thousandths of an inch. */
export function shortLength(mm: number, system: System): string {
  return system === 'us' ? `${(mm / 25.4).toFixed(3)} in` : `${mm.toFixed(2)} mm`
}
