// The one client of this app: in a page and in the worker alike the session lives in cookies.
import { Client, type Reply } from 'fullset-client'

export { isLost, NO_CONNECTION, type Reply } from 'fullset-client'
export const wire = new Client()
/** An answer is a value already; older screens still wrap it. */
export const ask = <T>(sent: Promise<Reply<T>>): Promise<Reply<T>> => sent
/** For the one body that is not JSON: a file. */
export const sendFile = <T>(
  path: string,
  body: ArrayBuffer,
  headers: Record<string, string>,
): Promise<Reply<T>> => wire.any<T>('POST', path, { body, headers })
