// What is due from today on, whatever plans say. What was last told stays on screen when the signal goes.
import { wire } from '@/api/client'
import type { DueYear, Problem } from '@/api/types'

class DueNow {
  year = $state.raw<DueYear | null>(null)
  problem = $state.raw<Problem | null>(null)
  asking = $state(false)

  async fetch(today: string): Promise<void> {
    this.asking = true
    const body = { first_day: today, periods: 52, early_days: 0 }
    const reply = await wire.any<DueYear>('POST', '/v1/service-plans/due', { body })
    this.asking = false
    if (reply.ok) this.year = reply.data
    this.problem = reply.ok ? null : reply.problem
  }
  forget() {
    this.year = this.problem = null
  }
}

export const dueNow = new DueNow()
