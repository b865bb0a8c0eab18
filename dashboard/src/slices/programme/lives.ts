// How long models serve, as lines and as they are sent.
import type { LifePart, Model, ServiceLife } from '@/api/types'
import { byName } from '@/words/order'

/** Every life that is stated, by model. */
export const statedLives = (models: Model[]) =>
  models.toSorted(byName).flatMap((model) => model.service_lives.map((life) => ({ model, life })))

/** The lives of a model with that of one part set, or taken off. */
export function withLife(model: Model, part: LifePart, life: ServiceLife | null): ServiceLife[] {
  const rest = model.service_lives.filter((one) => one.part !== part)
  return life ? [...rest, life] : rest
}
