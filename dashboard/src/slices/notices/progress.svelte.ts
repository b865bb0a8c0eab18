// How far a notice has come, asked of the server and asked anew whenever one of its pieces changes here.
import type { Notice, NoticeProgress } from '@/api/types'
import { Asked } from '@/store/asked.svelte'
import { feed } from '@/store/feed.svelte'
import { world } from '@/store/world.svelte'

export class Progress {
  readonly asked = new Asked<NoticeProgress>()

  /** Changes with the notice and with every piece of its models. */
  static hangsOn(notice: Notice | undefined): string {
    if (!notice) return ''
    const models = new Set(notice.covers.models)
    const pieces = world.all('piece').filter((piece) => models.has(piece.model))
    return [notice.id, notice.rev, ...pieces.map((piece) => `${piece.id}${piece.rev}`)].join()
  }

  /** For an effect of a screen; answers what ends the asking. */
  look(id: string | undefined): (() => void) | undefined {
    if (!id || feed.link === 'off') return undefined
    void this.asked.look(`/v1/notices/${id}/pieces`)
    return () => this.asked.stop()
  }
}
