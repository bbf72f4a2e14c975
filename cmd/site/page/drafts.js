// Drafts: what is typed and not kept yet stays in the store until it is kept or
// left, through a reload or the end of the tab. Each tab has its own, and takes
// over those of tabs that are no more.
'use strict'

const tab = sessionStorage.tab ??= crypto.randomUUID()
navigator.locks.request(tab, () => new Promise(() => {})) // held as long as the tab lives

const fresh = () => line.at >= state.lines.length
const place = () => [opened, state.label, fresh() ? 'new' : line.at, tab]
const before = () => JSON.stringify(state.lines[line.at] ?? '') // a draft of a line that is another now is of no use

// drafts does something to the drafts, without waiting for the disk.
const drafts = (mode, work) => transact('drafts', mode, work, 'relaxed')

// note notes a cell of the line that is typed.
function note (column, text) {
  if (text) line.row[column] = text
  else delete line.row[column]
  draft()
}

let stored = Promise.resolve() // once the newest draft is in the store

// draft stores the line that is typed, in the place of a draft where one is named.
function draft (from) {
  line.typed = true
  const now = { date: state.date, row: line.row, before: before(), when: Date.now() }
  const key = place()
  stored = drafts('readwrite', all => { if (from) all.delete(from); all.put(now, key) }).catch(e => stop(e.message))
}

const drop = () => drafts('readwrite', all => { all.delete(place()) })

// mine are the drafts below a key that are this tab's or of none that lives, with
// their keys, the newest first.
async function mine (...below) {
  if (!localStorage.visited) return [] // there is no store yet
  const { held } = await navigator.locks.query()
  const others = new Set(held.map(lock => lock.name).filter(name => name !== tab))
  return drafts('readonly', (all, safely, give) => {
    const found = []
    all.openCursor(draftsOf(...below)).onsuccess = ({ target: { result: at } }) => {
      if (!at) return give(found.sort((a, b) => b.when - a.when))
      if (!others.has(at.key[3])) found.push({ ...at.value, key: at.key })
      at.continue()
    }
  })
}

// drafted is what was typed of the line, undefined where nothing was.
async function drafted () {
  const [id, label, at] = place()
  const found = await mine(id, label, at)
  const use = found.find(d => d.before === before())
  if (found.length) {
    await drafts('readwrite', all => {
      for (const { key } of found) all.delete(key)
      if (use) all.put(use, place())
    })
  }
  return use?.row
}

// newest is the dive and the line of a logbook's draft that was typed last.
async function newest (id) {
  const [found] = await mine(id)
  return found && { when: found.when, date: found.date, label: found.key[1], line: found.key[2] === 'new' ? Infinity : found.key[2] }
}
