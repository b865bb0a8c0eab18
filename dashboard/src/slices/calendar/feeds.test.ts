import { describe, expect, it } from 'vitest'
import { newSecret } from '@/words/secrets'
import { addressOf, placeId, placeOf } from './feeds'

describe('the address of a calendar', () => {
  it('holds 32 bytes as base64url without padding, and the server is sent the hash of these signs', async () => {
    // The pair of the service's own test: printf %s "$secret" | sha256sum
    const made = await newSecret(Uint8Array.from({ length: 32 }, (_, n) => n))
    expect(made).toEqual({
      secret: 'AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8',
      sha256: 'ea866a757e4c38babfa8127cbe9a409d3e1f93a00ff1488ff735fcf917afffd0',
    })
    const signs = await newSecret(new Uint8Array(32).fill(0xfb))
    expect(signs?.secret).toMatch(/^[A-Za-z0-9_-]{43}$/)
    expect(addressOf('S', 'https://x.example')).toBe('https://x.example/v1/calendars/S/checks.ics')
  })
  it('is of one place', () => {
    for (const of of ['district', 'station', 'rig', 'shop']) {
      const place = placeOf(`${of}/7`)
      expect(place).toEqual({ of, [of]: '7' })
      expect(place && placeId(place)).toBe('7')
    }
    expect(placeOf('')).toBeNull()
  })
})
