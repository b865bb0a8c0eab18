import type { Role } from '@/api/types'
import { spelled } from './locale'

const ROLES: Record<Role, string> = {
  crew: 'Crew',
  officer: 'Officer',
  shop: 'Shop',
  chief: 'Chief',
  get coordinator() {
    return spelled('Programme coordinator')
  },
  admin: 'Admin',
}
export const ROLE_LIST = Object.keys(ROLES) as Role[]
export const roleWord = (role: Role) => ROLES[role] ?? role
