// The wire shapes of the past by the names that its screens use.
import type { components } from 'fullset-client/generated'

type S = components['schemas']

export type Board = S['Board']
export type RigLine = S['RigLine']
export type BoardChange = S['BoardChange']
export type BoardChanges = S['BoardChanges']
export type Shares = S['Shares']
export type AvailabilityRow = S['AvailabilityRow']
export type Availability = S['Availability']
export type Standing = S['Standing']
export type StandingItem = S['StandingItem']
export type Aboard = S['Aboard']
export type Sheet = S['Sheet']
