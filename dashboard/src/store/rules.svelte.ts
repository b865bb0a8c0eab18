// The agency's rules on defects, as the server writes them, kept on this phone so that they hold without a signal.
import { wire } from '@/api/client'
import type { DefectRule } from '@/api/types'
import { disk } from './disk'

const KEY = 'defect-rules'

class DefectRules {
  all = $state.raw<DefectRule[]>([])
  #asked = false

  /** Reads what is kept, then asks the server once for each opening of the app. */
  async keep(): Promise<void> {
    const store = await disk()
    if (!this.all.length) this.all = (await store.get<DefectRule[]>('meta', KEY)) ?? []
    if (!this.#asked) await this.ask()
  }

  /** Asks the server again: the agency has decided something. */
  async ask(): Promise<void> {
    const reply = await wire.any<{ items: DefectRule[] }>('GET', '/v1/defect-rules')
    if (!reply.ok) return
    this.#asked = true
    this.all = reply.data.items
    const store = await disk()
    await store.write([{ put: 'meta', key: KEY, value: reply.data.items }]).catch(() => {})
  }
}
export const defectRules = new DefectRules()
