// One short sentence about what was just done, with a way back where there is one.
interface Notice {
  text: string
  undo?: { label: string; run: () => void }
}

class Notices {
  now = $state<Notice | null>(null)
  #timer: ReturnType<typeof setTimeout> | undefined

  say(text: string, undo?: Notice['undo']) {
    this.now = { text, undo }
    clearTimeout(this.#timer)
    this.#timer = setTimeout(() => (this.now = null), undo ? 20_000 : 7_000)
  }
  close() {
    clearTimeout(this.#timer)
    this.now = null
  }
}

export const notices = new Notices()
