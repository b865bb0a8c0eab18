// What a browser keeps of the app on its disk.
import type { Page } from '@playwright/test'

/** How many records, waiting acts and photos it keeps. */
export const onDisk = (page: Page, names = ['records', 'outbox', 'photos']) => counted(page, names)

/** Whether it keeps that picture of a card. */
export const keepsPicture = async (page: Page, photo: string) =>
  (await counted(page, ['pictures'], photo))[0] === 1

/** How many there are of each name, or of those under one key. */
const counted = (page: Page, names: string[], key?: string) =>
  page.evaluate(
    async ({ names, key }) => {
      const db = await new Promise<IDBDatabase>((resolve) => {
        const opening = indexedDB.open('fullset')
        opening.onsuccess = () => resolve(opening.result)
      })
      const count = (name: string) =>
        new Promise<number>((resolve) => {
          const counting = db.transaction(name).objectStore(name).count(key)
          counting.onsuccess = () => resolve(counting.result)
        })
      const counts = await Promise.all(names.map(count))
      db.close()
      return counts
    },
    { names, key },
  )
