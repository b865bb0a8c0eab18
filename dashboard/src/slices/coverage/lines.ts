// The boundaries and roads that a person opened, kept in this browser for whoever opened them.
import type { Disk } from '@/store/disk'
import type { OwnLines } from './geojson'

const keyFor = (owner: string) => `lines:${owner}`

export const keptLines = async (disk: Disk, owner: string): Promise<OwnLines | null> =>
  (await disk.get<OwnLines>('meta', keyFor(owner))) ?? null
export const keepLines = (disk: Disk, owner: string, lines: OwnLines): Promise<void> =>
  disk.write([{ put: 'meta', key: keyFor(owner), value: lines }])
export const dropLines = (disk: Disk, owner: string): Promise<void> =>
  disk.write([{ delete: 'meta', key: keyFor(owner) }])
