export const PLANNING_AID =
  'Capability is a planning aid. It is not a dispatch order and does not replace the officer’s own check.'
