// What somebody does at a desk meanwhile, through the API.
import { expect } from '@playwright/test'
import { Client, ephemeral, uuid7 } from 'fullset-client'
import { sha256, upload } from 'fullset-client/photos'
import { readFileSync } from 'node:fs'
import type { CardDraft, CardText, OperatingCard } from '../src/api/types'

const PICTURE = 'public/icon-512.png'

/** Approves the next version of a model's card, with one picture; answers the picture's name. */
export async function approveCard(base: string, model: string, start: string): Promise<string> {
  const desk = new Client({ base, keys: ephemeral() })
  expect((await desk.signIn('admin@tamarrow.example', 'county-demo-only')).ok).toBe(true)
  const bytes = new Uint8Array(readFileSync(PICTURE))
  const photo = await sha256(bytes)
  expect(await upload(desk, photo, bytes.buffer, 'image/png')).toEqual({ ok: true })
  const send = async (path: string, body: object, rev?: number) => {
    const headers = { 'idempotency-key': uuid7(), ...(rev === undefined ? {} : { 'if-match': `"${rev}"` }) }
    const reply = await desk.any('POST', path, { body, headers })
    expect(reply.ok, path).toBe(true)
  }
  const known = await desk.any<OperatingCard>('GET', `/v1/operating-cards/${model}`)
  const none = {
    stowed: '',
    levers: '',
    controls: '',
    differs: '',
    shut_down: '',
    restow: '',
    care: '',
    cautions: '',
  }
  const pictures = [{ photo, section: 'start' as const, words: 'The lever, at rest' }]
  const text: CardText = { ...none, start, replaces: null, pictures }
  const id = uuid7()
  const from_version = known.ok ? known.data.version : 0
  await send('/v1/card-drafts', { id, subject: { of: 'model', model }, from_version, text })
  const draft = await desk.any<CardDraft>('GET', `/v1/card-drafts/${id}`)
  await send(`/v1/card-drafts/${id}/approve`, {}, draft.ok ? draft.data.rev : undefined)
  return photo
}
