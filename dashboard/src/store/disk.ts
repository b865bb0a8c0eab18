// What this browser keeps, and the one way to write it: a list of changes that happen together or not at all.
// On IndexedDB where the page is secure; otherwise in memory, so that nothing outlives the tab.
export type Name = 'records' | 'meta' | 'outbox' | 'photos' | 'pictures'
type Key = IDBValidKey

export type Op =
  | { put: Name; value: object | string; key?: Key }
  | { delete: Name; key: Key | IDBKeyRange }
  | { clear: Name }
  /** Reads what is there and writes what comes back, inside the transaction; nothing back deletes it. */
  | { change: Name; key: Key; to: (old: never) => object | undefined }

export interface Disk {
  /** Whether it outlives the tab. */
  readonly lasting: boolean
  get<T>(name: Name, key: Key): Promise<T | undefined>
  all<T>(name: Name, range?: IDBKeyRange): Promise<T[]>
  write(ops: Op[]): Promise<void>
  close(): void
}

const NAME = 'fullset'
/** Raised when the shape of `records` or `meta` changes: they are dropped and fetched again. The rest stays. */
export const VERSION = 4
/** How a row is named: inside itself, except in `meta`. The outbox counts its rows, which keeps their order. */
const KEYS: Record<Name, IDBObjectStoreParameters> = {
  records: { keyPath: ['gen', 'kind', 'id'] },
  meta: {},
  outbox: { keyPath: 'seq', autoIncrement: true },
  photos: { keyPath: ['owner', 'sha'] },
  /** Of operating cards, as the server has them. */
  pictures: { keyPath: 'sha' },
}
const NAMES = Object.keys(KEYS) as Name[]

export async function openDisk(version = VERSION): Promise<Disk> {
  const usable = globalThis.isSecureContext !== false && typeof indexedDB !== 'undefined'
  if (!usable) return memory()
  try {
    return onDisk(await open(version))
  } catch {
    // A private window without storage, or a newer version of this app that holds it: work without keeping.
    return memory()
  }
}

function open(version: number): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, version)
    request.onupgradeneeded = () => {
      const db = request.result
      for (const name of NAMES) {
        const there = db.objectStoreNames.contains(name)
        const again = name === 'records'
        if (there && again) db.deleteObjectStore(name)
        if (!there || again) db.createObjectStore(name, KEYS[name])
      }
      // The session in `meta` stays, the word that the records are complete does not.
      request.transaction?.objectStore('meta').delete('replica')
      request.transaction?.objectStore('meta').delete('building')
    }
    request.onsuccess = () => resolve(request.result)
    request.onerror = () => reject(request.error ?? new Error('storage is closed'))
    // An older tab holds it: it lets go as soon as it is asked (below), and this goes on by itself.
    request.onblocked = () => {}
  })
}

const done = <T>(request: IDBRequest<T>) =>
  new Promise<T>((resolve, reject) => {
    request.onsuccess = () => resolve(request.result)
    request.onerror = () => reject(request.error ?? new Error('storage failed'))
  })

function onDisk(db: IDBDatabase): Disk {
  db.onversionchange = () => db.close()
  return {
    lasting: true,
    close: () => db.close(),
    get: <T>(name: Name, key: Key) => done<T>(db.transaction(name).objectStore(name).get(key)),
    all: <T>(name: Name, range?: IDBKeyRange) =>
      done<T[]>(
        db
          .transaction(name)
          .objectStore(name)
          .getAll(range ?? null),
      ),
    write: (ops) =>
      new Promise((resolve, reject) => {
        if (!ops.length) return resolve()
        const names = [...new Set(ops.map(nameOf))]
        // What a person did must outlive a dead battery; what the server told can be asked again.
        const own = names.some((n) => n === 'outbox' || n === 'photos') || ops.some(isWalk)
        const durability = own ? 'strict' : 'relaxed'
        const turn = db.transaction(names, 'readwrite', { durability })
        turn.oncomplete = () => resolve()
        turn.onabort = () => reject(turn.error ?? new Error('storage failed'))
        try {
          for (const op of ops) apply(turn.objectStore(nameOf(op)), op)
        } catch (fault) {
          turn.abort()
          reject(fault instanceof Error ? fault : new Error(String(fault)))
        }
      }),
  }
}

function apply(store: IDBObjectStore, op: Op) {
  if ('put' in op) store.put(op.value, op.key)
  else if ('delete' in op) store.delete(op.key)
  else if ('clear' in op) store.clear()
  else {
    const read = store.get(op.key)
    read.onsuccess = () => {
      const next = op.to(read.result as never)
      if (next === read.result) return
      if (next) store.put(next, store.keyPath === null ? op.key : undefined)
      else store.delete(op.key)
    }
  }
}

const nameOf = (op: Op): Name =>
  'put' in op ? op.put : 'delete' in op ? op.delete : 'clear' in op ? op.clear : op.change

/** Half-done checks: nobody else has what was answered. */
const isWalk = (op: Op) => 'key' in op && String(op.key).startsWith('walks:')

/** The same without a disk. */
export function memory(): Disk {
  const stores = Object.fromEntries(NAMES.map((n) => [n, new Map<string, object | string>()])) as Record<
    Name,
    Map<string, object | string>
  >
  let count = 0
  const text = (key: unknown) => JSON.stringify(key)
  const own = (name: Name, value: Record<string, unknown>, key?: Key) => {
    const path = KEYS[name].keyPath
    if (!path) return text(key)
    return text(Array.isArray(path) ? path.map((p) => value[p]) : value[path])
  }
  const put = (name: Name, value: object | string, key?: Key) => {
    const row =
      name === 'outbox' && typeof value === 'object' && !('seq' in value) ? { ...value, seq: ++count } : value
    stores[name].set(own(name, row as Record<string, unknown>, key), row)
  }
  return {
    lasting: false,
    close: () => {},
    get: <T>(name: Name, key: Key) => Promise.resolve(stores[name].get(text(key)) as T | undefined),
    // Without a disk nobody asks for a part: the records live in the world alone.
    all: <T>(name: Name) => Promise.resolve([...stores[name].values()] as T[]),
    write: (ops) => {
      for (const op of ops) {
        const at = stores[nameOf(op)]
        if ('put' in op) put(op.put, op.value, op.key)
        else if ('delete' in op) at.delete(text(op.key))
        else if ('clear' in op) at.clear()
        else {
          const next = op.to(at.get(text(op.key)) as never)
          if (next) put(op.change, next, op.key)
          else at.delete(text(op.key))
        }
      }
      return Promise.resolve()
    },
  }
}

let opened: Promise<Disk> | undefined
/** The one disk of this page or worker. */
export const disk = (): Promise<Disk> => (opened ??= openDisk())
