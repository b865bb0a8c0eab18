/** What is chosen in a list, by id; it outlives what filters hide. */
export class Picked {
  #ids = $state.raw<ReadonlySet<string>>(new Set())

  has = (id: string) => this.#ids.has(id)
  pick(ids: readonly string[], on: boolean) {
    const next = new Set(this.#ids)
    for (const id of ids) {
      if (on) next.add(id)
      else next.delete(id)
    }
    this.#ids = next
  }
  drop = (ids: readonly string[]) => this.pick(ids, false)
  none = () => void (this.#ids = new Set())
}
