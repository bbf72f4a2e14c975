// The store, of the worker and of the page: the logbooks, and drafts of what is
// typed and not kept.
'use strict'

const store = new Promise((resolve, reject) => {
  const ask = indexedDB.open('sagline', 2)
  ask.onupgradeneeded = ({ oldVersion }) => {
    if (oldVersion < 1) ask.result.createObjectStore('logbooks', { keyPath: 'id', autoIncrement: true })
    ask.result.createObjectStore('drafts') // by logbook, dive, line or 'new', and tab
  }
  ask.onsuccess = () => {
    ask.result.onversionchange = () => ask.result.close() // a newer version of the page
    resolve(ask.result)
  }
  ask.onerror = () => reject(ask.error)
})

// draftsOf are the keys of the drafts of a logbook, of a dive of it, or of a line.
const draftsOf = (...of) => IDBKeyRange.bound(of, [...of, []])

// transact does something to some of the store's parts, whole or not at all. It
// is done when the browser says that it is on disk, or for relaxed durability
// that it is written, when the work must ask for all at once; other tabs wait meanwhile.
// The work asks and is called back within the transaction, so nothing comes in
// between.
async function transact (parts, mode, work, durability = 'strict') {
  const open = await store
  return new Promise((resolve, reject) => {
    const t = open.transaction(parts, mode, { durability })
    let result, wrong
    const safely = f => (...args) => {
      try { f(...args) } catch (e) { wrong = e; t.abort() }
    }
    t.oncomplete = () => resolve(result)
    t.onabort = () => reject(wrong || full(t.error))
    const [first, ...others] = [parts].flat().map(name => t.objectStore(name))
    safely(() => work(first, safely, r => { result = r }, ...others))()
    if (!wrong && mode === 'readwrite' && durability === 'relaxed') t.commit() // a page that goes breaks off what it has not committed
  })
}

function full (error) {
  if (error && error.name === 'QuotaExceededError') {
    return new Error('The storage of this phone is full: NOT kept. Give the files out, make room, and keep the line again; it is still here as you typed it.')
  }
  return new Error('NOT kept: ' + (error ? error.message : 'the browser broke it off'))
}
