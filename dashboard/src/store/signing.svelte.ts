// On a shared tablet the frame asks who acts; the act waits for the answer.
export interface ActingMember {
  member: string
  pin: string
}

class Signing {
  /** What is about to be done, while somebody is asked who does it. */
  asking = $state<{ what: string } | null>(null)
  #answer: ((who: ActingMember | null) => void) | null = null

  /** Null: the person closed it, nothing is done. */
  ask(what: string): Promise<ActingMember | null> {
    this.answer(null)
    this.asking = { what }
    return new Promise((resolve) => (this.#answer = resolve))
  }
  answer(who: ActingMember | null) {
    this.asking = null
    this.#answer?.(who)
    this.#answer = null
  }
}

export const signing = new Signing()
