// A server of a few lines for the tests: answers by rules, remembers what it was asked.
export interface Asked {
  method: string
  path: string
  headers: Record<string, string>
  body: string | ArrayBuffer | undefined
}
export type Answers = (asked: Asked) => Response | 'lost' | Promise<Response | 'lost'>

export const json = (status: number, body: unknown, headers: Record<string, string> = {}) =>
  new Response(status === 204 ? null : JSON.stringify(body), { status, headers })

/** `lost`: the server acted, its answer did not arrive. */
export function server(answers: Answers): { asked: Asked[]; fetch: typeof fetch } {
  const asked: Asked[] = []
  return {
    asked,
    fetch: async (path, init) => {
      const one: Asked = {
        method: init?.method ?? 'GET',
        path: String(path),
        headers: init?.headers as Record<string, string>,
        body: init?.body as string | ArrayBuffer | undefined,
      }
      asked.push(one)
      const answer = await answers(one)
      if (answer === 'lost') throw new TypeError('network')
      return answer
    },
  }
}
