import { createSubscriber } from 'svelte/reactivity'

// The present, once a minute, for words like "since 40 min". Runs only while something on the page reads it.
const subscribe = createSubscriber((update) => {
  const timer = setInterval(update, 30_000)
  return () => clearInterval(timer)
})

export function now(): Date {
  subscribe()
  return new Date()
}
