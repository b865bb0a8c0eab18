// The one client of this app: in a page and in the worker alike the session lives in cookies.
import { Client } from 'fullset-client'

export const wire = new Client()
