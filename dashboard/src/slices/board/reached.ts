// What the board needs of the coverage answer.
export interface Reached {
  target_minutes: number
  first_share: number
  second_share: number
  zones: unknown[]
  districts: { id: string; name: string; weight: number; first_share?: number | null }[]
}
