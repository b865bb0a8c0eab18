// What a person decides about an act that waits or came back: once more, mine all the same, or not at all.
import { chain, takeOut } from './chain'
import { disk } from './disk'
import { outbox, type Item } from './outbox.svelte'
import { changeItem, queued } from './queue'
import { signing } from './signing.svelte'

/** Once more as it is; on a shared tablet somebody signs it anew. */
export async function again(item: Item): Promise<void> {
  let { command } = item
  if ('by' in command) {
    const who = await signing.ask(item.words)
    if (!who) return
    const { signAll } = await import('./sign')
    const signed = await signAll([command], who, item.owner).catch(() => null)
    if (!signed?.commands[0]) return
    command = signed.commands[0]
  }
  const change = (old: Item): Item => ({
    ...old,
    command,
    state: 'waiting',
    problem: undefined,
    current: undefined,
  })
  await (await disk()).write([changeItem(item.seq, change)])
  await outbox.moved()
  void outbox.send()
}

/** Takes an act back, with those that follow it; its photos stay while a form is open that names them. False: it may have reached the server already. */
export async function withdraw(item: Item, open = false): Promise<boolean> {
  const store = await disk()
  const now = await queued(store, item.owner)
  const there = now.find((i) => i.id === item.id)
  if (!there) return false
  const gone = await takeOut(store, chain(now, there), open)
  await outbox.moved()
  return gone
}

/** A conflict: do mine on the state that stands now, or leave theirs. */
export async function decide(item: Item, side: 'mine' | 'theirs'): Promise<void> {
  if (side === 'theirs') return void (await withdraw(item))
  const rev = item.current?.rev
  const change = (old: Item): Item => ({
    ...old,
    state: 'waiting',
    command: rev === undefined ? old.command : { ...old.command, expects: rev },
    problem: undefined,
    current: undefined,
  })
  await (await disk()).write([changeItem(item.seq, change)])
  await outbox.moved()
  void outbox.send()
}
