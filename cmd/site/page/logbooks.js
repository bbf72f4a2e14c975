// The list of logbooks.
'use strict'

async function logbooks () {
  const now = opens
  if (!localStorage.visited) listed([]) // at once: to make a store takes a while
  const books = await transact('logbooks', 'readonly', (all, safely, give) => {
    const ask = all.getAll()
    ask.onsuccess = () => give(ask.result)
  })
  localStorage.visited = 'yes'
  const [typed] = await mine(0)
  if (now === opens) listed(books, typed)
  $('storage').textContent = await storage()
}

// listed shows logbooks, and the line that is in none.
function listed (books, typed) {
  $('list').replaceChildren(...books.map(b => {
    const remove = el('button', { type: 'button', onclick: tried(() => removed(b, remove)) }, 'Remove')
    return el('li', {}, el('span', {}, b.name), el('p', { class: 'bar' },
      el('button', { type: 'button', onclick: tried(() => open(b.id, b.name)) }, 'Open ' + b.name), remove))
  }))
  if (!books.length) $('list').replaceChildren(el('li', {}, 'None yet.'))
  $('typed').textContent = typed ? 'Typed, and in no logbook yet: ' + Object.entries(typed.row).map(cell => cell.join(' ')).join(', ') + '. The next line of the logbook that you take in, make or open.' : ''
  $('write').textContent = typed ? 'Go on with it' : 'Write a line now'
  $('early').hidden = books.length && !typed
  view('logbooks', '')
}

async function storage () {
  const safe = navigator.storage && await navigator.storage.persisted()
  return safe
    ? 'This browser has promised to keep it until you remove it.'
    : 'This browser may clear it when the phone runs out of room or the page is not used for weeks: give the files out after each day.'
}

// removed removes a logbook at the second press.
async function removed (book, button) {
  if (!sure(button, 'Remove ' + book.name + ' and all its lines from this phone?')) return
  await ask('remove', { id: book.id })
  await logbooks()
  say(book.name + ' is removed.')
}
