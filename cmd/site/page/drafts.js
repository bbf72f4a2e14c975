// Drafts: what is typed and not kept yet stays in the store until it is kept or
// left, through a reload or the end of the tab.
'use strict'

const fresh = () => line.at >= state.lines.length
const place = () => [opened, state.label, fresh() ? 'new' : line.at]
const before = () => JSON.stringify(state.lines[line.at] ?? '') // a draft of a line that is another now is of no use

// drafts does something to the drafts, without waiting for the disk.
const drafts = (mode, work) => transact('drafts', mode, work, 'relaxed')

// note notes a cell of the line that is typed.
function note (column, text) {
  if (text) line.row[column] = text
  else delete line.row[column]
  draft()
}

// draft stores the line that is typed.
function draft () {
  const now = { date: state.date, row: line.row, before: before(), when: Date.now() }
  const key = place()
  drafts('readwrite', all => { all.put(now, key) }).catch(e => stop(e.message))
}

const drop = () => drafts('readwrite', all => { all.delete(place()) })

const stored = key => drafts('readonly', (all, safely, give) => {
  const ask = all.get(key)
  ask.onsuccess = () => give(ask.result)
})

// drafted is what was typed of the line, undefined where nothing was.
async function drafted () {
  const found = await stored(place())
  if (found && found.before === before()) return found.row
  if (found) await drop()
}

// newest is the dive and the line of the logbook's draft that was typed last.
const newest = () => drafts('readonly', (all, safely, give) => {
  let last
  all.openCursor(draftsOf(opened)).onsuccess = ({ target: { result: at } }) => {
    if (!at) return give(last)
    if (!last || at.value.when > last.when) last = { when: at.value.when, date: at.value.date, label: at.key[1], line: at.key[2] === 'new' ? Infinity : at.key[2] }
    at.continue()
  }
})
