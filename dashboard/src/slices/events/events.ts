// What happened to ways of signing in, in words.
import type { AccessEvent } from '@/api/types'

type What = AccessEvent['what']
const WORDS: Record<What, [mark: string, sentence: string]> = {
  signed_in: ['Signed in', 'Signed in'],
  signed_in_by_passkey: ['Passkey', 'Signed in by a passkey'],
  phone_enrolled: ['Phone added', 'A phone was signed in by a code'],
  signed_out: ['Signed out', 'Signed out'],
  password_wrong: ['Wrong password', 'A wrong password was given'],
  code_wrong: ['Wrong code', 'A wrong code was given after the right password'],
  pin_wrong: ['Wrong PIN', 'A wrong PIN was given on a shared tablet'],
  pin_set: ['PIN set', 'The PIN was set'],
  refused: ['Refused', 'Something was refused that the role or reach does not permit'],
  token_used_twice: [
    'Used twice',
    'The same sign-in was used from two places, one of them a copy; it was ended',
  ],
  sign_ins_ended: ['Signed out', 'Signed out elsewhere'],
  password_changed: ['Password changed', 'The password was changed'],
  link_made: ['Link made', 'A link was made that sets a password'],
  link_used: ['Link used', 'The password was set by a link'],
  second_factor_on: ['Second factor on', 'The second factor was turned on'],
  second_factor_off: ['Second factor off', 'The second factor was turned off'],
  recovery_code_used: ['Recovery code', 'A recovery code was used up'],
  passkey_added: ['Passkey added', 'A passkey was added'],
  passkey_removed: ['Passkey removed', 'A passkey was removed'],
  passkey_wrong: ['Wrong passkey', 'A passkey was refused'],
  passkey_copied: ['Passkey copied?', 'A passkey was refused: somebody may have a copy of it'],
  key_made: ['Key made', 'A key for a program was made'],
  key_revoked: ['Key revoked', 'A key of a program was revoked'],
}
const LOOK_AT: What[] = [
  'token_used_twice',
  'password_wrong',
  'code_wrong',
  'pin_wrong',
  'second_factor_off',
  'recovery_code_used',
  'passkey_wrong',
  'passkey_copied',
]

/** What wants a look is marked; a word that this version does not know is shown as it is. */
export function eventMark(what: What) {
  const [word] = WORDS[what] ?? [what]
  return LOOK_AT.includes(what)
    ? { shape: 'notched', tone: 'weak', word }
    : { shape: 'solid', tone: 'quiet', word }
}

/** "A link was made that sets a password, by Ada Admin". */
export function eventWords({ what, by }: Pick<AccessEvent, 'what' | 'by'>): string {
  const sentence = WORDS[what]?.[1] ?? what
  return by ? `${sentence}, by ${by.name}` : sentence
}
