// What a step of a check plainly says of its answer. Everything else the service judges.
import type { PlanStep, StepAsk, StepSaid } from '@/api/types'
import { valueIn } from './units'

/** Whether the answer is that of a sound piece; null: the step does not say, the service judges it. */
export function soundness(ask: StepAsk, said: StepSaid): boolean | null {
  if (ask.kind === 'yes_no' && said.kind === 'yes_no') return said.yes === ask.sound
  if (ask.kind === 'choice' && said.kind === 'choice') return ask.passing.includes(said.option)
  if (ask.kind !== 'number' || said.kind !== 'number') return null
  let sure = true
  for (const limit of ask.limits ?? []) {
    if (limit.kind !== 'fixed') {
      sure = false
      continue
    }
    for (const [bound, way] of [
      [limit.min, 1],
      [limit.max, -1],
    ] as const) {
      if (!bound) continue
      const value = valueIn(said.value, bound.unit)
      if (value === null) sure = false
      // What lies on the bound after a conversion is left to the service.
      else if ((value - bound.value) * way < -Math.abs(bound.value) * 1e-8) return false
    }
  }
  return sure ? true : null
}

/** The first step of a waiting check that was plainly answered as not sound and leaves the piece not usable; empty: none is known. */
export function failedStep(steps: PlanStep[], body: Record<string, unknown>): string {
  const findings = (body['findings'] as { step: string; usable?: boolean }[] | undefined) ?? []
  const usable = findings.filter((one) => one.usable).map((one) => one.step)
  for (const { step, said } of (body['answers'] as { step: string; said: StepSaid }[] | undefined) ?? []) {
    const asked = steps.find((one) => one.id === step)
    if (asked && !usable.includes(step) && soundness(asked.ask, said) === false) return asked.title
  }
  return ''
}
