// What a screen keeps in this browser for whoever uses it, beside the disk: small, and no loss where storage is full or closed. It goes
// with the sign-out.
export class Hint<T extends { owner: string }> {
  constructor(private readonly key: string) {}

  keep(value: T) {
    try {
      localStorage.setItem(this.key, JSON.stringify(value))
    } catch {
      // Then it is known as long as this page lives.
    }
  }
  /** What was kept for that owner; nobody reads another's. */
  read(owner: string): T | null {
    try {
      const kept = JSON.parse(localStorage.getItem(this.key) ?? 'null') as T | null
      return kept?.owner === owner ? kept : null
    } catch {
      return null
    }
  }
  drop() {
    try {
      localStorage.removeItem(this.key)
    } catch {
      // Nothing was kept.
    }
  }
}
