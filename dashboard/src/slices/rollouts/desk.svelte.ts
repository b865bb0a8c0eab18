// How far a rollout has come and what its two sets are, asked of the server, and asked anew whenever something that they hang on changes here.
import type { Rollout, RolloutProgress, RolloutSets } from '@/api/types'
import { Asked } from '@/store/asked.svelte'
import { feed } from '@/store/feed.svelte'
import { world } from '@/store/world.svelte'

type Grows = 'rollout_rig' | 'shift' | 'member' | 'operating_card' | 'model' | 'rig_standing'
const grown = (kind: Grows) => world.all(kind).reduce((sum, one) => sum + one.rev, 0)

export class Desk {
  readonly progress = new Asked<RolloutProgress>()
  readonly sets = new Asked<RolloutSets>()

  static hangsOn(rollout: Rollout | undefined): string {
    if (!rollout) return ''
    const models = new Set([...rollout.models, ...rollout.replaces, ...rollout.banned_adapters])
    const pieces = world
      .all('piece')
      .reduce((sum, piece) => (models.has(piece.model) ? sum + piece.rev : sum), 0)
    const kinds: Grows[] = ['rollout_rig', 'shift', 'member', 'operating_card', 'model', 'rig_standing']
    return [feed.link === 'off', rollout.id, rollout.rev, pieces, ...kinds.map(grown)].join()
  }

  /** For an effect of a screen; answers what ends the asking. */
  look(id: string | undefined): (() => void) | undefined {
    if (!id || feed.link === 'off') return undefined
    void this.progress.look(`/v1/rollouts/${id}/progress`)
    void this.sets.look(`/v1/rollouts/${id}/sets`)
    return () => {
      this.progress.stop()
      this.sets.stop()
    }
  }
}
