// The order of a list by what a person reads first: "Engine 9" stands before "Engine 10".
const read = (a: string, b: string) => a.localeCompare(b, 'en', { numeric: true })
export const byName = (a: { name: string }, b: { name: string }) => read(a.name, b.name)
export const byTag = (a: { tag: string }, b: { tag: string }) => read(a.tag, b.tag)
