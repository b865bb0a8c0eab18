// The agency's service plans: from the feed where this device keeps the whole agency, else from their own address.
import { wire } from '@/api/client'
import type { Problem, ServicePlanRecord } from '@/api/types'
import { phone } from '@/store/phone.svelte'
import { world } from '@/store/world.svelte'

interface Page {
  items: ServicePlanRecord[]
  next?: string | null
}

class Plans {
  #listed = $state.raw<ServicePlanRecord[]>([])
  problem = $state.raw<Problem | null>(null)

  /** Newest beginning first. */
  get all(): ServicePlanRecord[] {
    const newest = new Map<string, ServicePlanRecord>()
    for (const plan of [...this.#listed, ...world.all('service_plan')]) {
      const known = newest.get(plan.id)
      if (!known || known.rev < plan.rev) newest.set(plan.id, plan)
    }
    return [...newest.values()].sort((a, b) => b.first_day.localeCompare(a.first_day) || b.rev - a.rev)
  }
  get(id: string) {
    return this.all.find((plan) => plan.id === id)
  }

  /** Asks the server where the feed does not bring them. */
  async fetch(): Promise<void> {
    this.problem = null
    if (phone.scope === 'agency') return
    const found: ServicePlanRecord[] = []
    let after: string | null = null
    do {
      const query: { after?: string } = after ? { after } : {}
      const reply = await wire.any<Page>('GET', '/v1/service-plans', { params: { query } })
      if (!reply.ok) return void (this.problem = reply.problem)
      found.push(...reply.data.items)
      after = reply.data.next ?? null
    } while (after)
    this.#listed = found
  }
}

export const plans = new Plans()
