// The checks that plans ask of pieces, and the latest ones that were done.
import type { Check, Id, PlanDue } from '@/api/types'
import { piecesOn } from './look'
import { world } from './world.svelte'

export const dueOf = (piece: Id): PlanDue[] => world.get('piece_standing', piece)?.due ?? []
export const dueOn = (rig: Id) => piecesOn(rig).flatMap((piece) => dueOf(piece.id).map(({ due }) => due))

export const checksOf = (piece: Id): Check[] => world.group('check', 'piece', (c) => c.piece).get(piece) ?? []
export const checkBy = (plan: Id, piece: Id) => checksOf(piece).find((check) => check.plan === plan)
