import type { Role } from '@/api/types'

const ROLES: Record<Role, string> = {
  crew: 'Crew',
  officer: 'Officer',
  shop: 'Shop',
  chief: 'Chief',
  coordinator: 'Programme coordinator',
  admin: 'Admin',
}
export const ROLE_LIST = Object.keys(ROLES) as Role[]
export const roleWord = (role: Role) => ROLES[role] ?? role
