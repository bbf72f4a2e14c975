// The worker holds the model and the store, so that a slow disk does not stop the
// page. What is asked of it is done one after the other, but what takes long,
// which is the judge's.
'use strict'
importScripts('wasm_exec.js', 'model.js', 'store.js')

const here = crypto.randomUUID() // this tab
const others = new BroadcastChannel('sagline')
let current // the logbook that the page shows: its id, the version that the model has, and as it was opened

let sagline // the model
let compiled // of which it and the judge's are
function model (...asked) {
  if (!sagline) throw new Error('Readings cannot be checked yet: open the page once more with a network. What is typed stays.')
  return answered(sagline, ...asked)
}

const none = new Uint8Array() // a file that is not there

let judge // the worker that judges
let judging // what it is at, if anything

// judged asks the judge about a logbook, after what was asked of it before.
function judged (name, args, { id, version, today, vehicle, dives }) {
  const asked = Promise.resolve(judging).then(() => new Promise((resolve, reject) => {
    judge ??= new Worker('judge.js')
    judge.onmessage = ({ data }) => data.error === undefined ? resolve(data.value) : reject(new Error(data.error))
    judge.onerror = event => reject(new Error('The dives cannot be judged in this browser: ' + event.message))
    judge.postMessage({ compiled, now: [id, version, today].join(' '), today, vehicle, dives, name, args })
  }))
  const now = judging = asked.catch(() => {}).then(() => { if (judging === now) judging = undefined })
  return asked
}

// unasked ends what the judge is at: another logbook is shown, and nobody waits
// for its answers.
function unasked () {
  if (!judging) return
  judge?.terminate()
  judge = judging = undefined
}

const read = id => transact('logbooks', 'readonly', (books, safely, give) => {
  const ask = books.get(id)
  ask.onsuccess = safely(() => {
    if (!ask.result) throw new Error('this logbook is no longer on this phone')
    give(ask.result)
  })
})

// put stores a new logbook and gives its id.
const put = book => transact('logbooks', 'readwrite', (books, safely, give) => {
  const ask = books.add(book)
  ask.onsuccess = safely(() => give(ask.result))
})

// change changes a stored logbook by what stands now, which may be another
// tab's; the draft of what is written goes.
const change = (id, edit, draft) => transact(['logbooks', 'drafts'], 'readwrite', (books, safely, give, drafts) => {
  if (draft) drafts.delete(draft)
  const ask = books.get(id)
  ask.onsuccess = safely(() => {
    const book = ask.result
    if (!book) throw new Error('this logbook is no longer on this phone: NOT kept')
    const before = book.version
    edit(book)
    book.version++
    book.written = Date.now()
    books.put(book)
    give({ book, before })
  })
})

// show takes a stored logbook's lines into the model.
function show (book) {
  const [state] = model('stands', {}, book.dives)
  current.version = book.version
  return state
}

const announce = what => others.postMessage({ from: here, id: current.id, version: current.version, what })

others.onmessage = ({ data }) => {
  queue(async () => {
    if (!current || data.id !== current.id || data.from === here) return
    if (data.what === 'opened') announce('here')
    if (data.what === 'gone') return postMessage({ gone: true })
    if (data.what !== 'kept') return postMessage({ also: true })
    if (data.version > current.version) postMessage({ elsewhere: show(await read(current.id)) })
  }).catch(() => {})
}

// write lets the model write into the log. Only when the store has it is it
// current as kept.
async function write (call, what, draft) {
  const seen = current.version
  const { book, before } = await change(current.id, book => {
    [, book.dives, book.unasked] = model(call, what, book.dives, book.unasked ?? none)
  }, draft)
  const state = show(book)
  announce('kept')
  return { state, elsewhere: before !== seen }
}

// longer is which of two files, neither of which need be there, goes on from the
// other. Here none is written on.
function longer (here, there) {
  const begins = (a, b) => !a || b && a.every((byte, i) => byte === b[i])
  if (begins(here, there)) return there
  if (begins(there, here)) return here
  throw new Error('Not merged, and nothing changed: neither locate.csv goes on from the other. Take the other in as a logbook beside this one.')
}

// What the page asks for.
const tasks = {
  async load ({ bytes }) {
    compiled = await fetched('model.bin', done => postMessage({ loaded: Math.min(1, done / bytes) }))
    sagline = await started(compiled)
  },
  // take stores the files of a logbook, if they can be written into.
  async take ({ vehicle, dives, locate, today }) {
    const [state] = model('open', { Today: today }, vehicle, dives)
    return put({ name: state.vehicle || 'vehicle with problems', vehicle, dives, locate, base: dives, version: 1 })
  },
  questions: ({ answers }) => model('ask', { Answers: answers })[0],
  // make stores a new logbook; where an answer will not do it gives the questions.
  async make ({ answers }) {
    const [said, vehicle, dives] = model('make', { Answers: answers })
    if (!dives) return { questions: said }
    return { id: await put({ name: said, vehicle, dives, base: dives, version: 1 }) }
  },
  async open ({ id, today }) {
    const book = await read(id)
    const [state] = model('open', { Today: today }, book.vehicle, book.dives, book.unasked ?? none)
    unasked()
    current = { id, version: book.version, opened: { ...book, today } }
    announce('opened')
    return { ...state, written: book.written ?? 0 }
  },
  close () {
    unasked()
    current = undefined
  },
  // early shows no logbook: lines are typed before there is one.
  early () {
    tasks.close()
    model('early', {})
  },
  // expect finds the ranges of readings; lines are written meanwhile.
  expect () {
    const { opened } = current
    const take = (...found) => queue(() => current?.opened === opened ? model('expected', ...found)[0] : undefined)
    return { later: judged('expect', {}, opened).then(([, ranges]) => take({}, ranges), e => take({ Wrong: e.message })) }
  },
  begin: ({ label, date }) => model('begin', { Label: label, Date: date })[0],
  line: ({ line, row, every }) => model('line', { Line: line, Row: row, All: every })[0],
  // look is what a call of the judge says of the dives as they are stored now.
  async look ({ name, args, today }) {
    return { later: judged(name, args, { ...await read(current.id), today }) }
  },
  keep: ({ line, row, draft }) => write('keep', { Line: line, Row: row }, draft),
  strike: ({ line, draft }) => write('strike', { Line: line }, draft),
  // merge takes in a copy of the log that was written on elsewhere.
  async merge ({ vehicle, dives, locate }) {
    let added
    await change(current.id, book => {
      const [said, merged] = model('merge', {}, book.base, book.dives, dives, ...(vehicle ? [vehicle] : []))
      if (!merged) throw new Error('Not merged, and nothing changed: ' + said.conflicts.join('; ') + '. Mend one of the copies, or take the other in as a logbook beside this one.')
      added = said.added
      book.dives = book.base = merged
      book.vehicle = vehicle || book.vehicle
      book.locate = longer(book.locate, locate)
    })
    announce('kept')
    return added
  },
  files: async () => {
    const { vehicle, dives, locate } = await read(current.id)
    return { vehicle, dives, locate }
  },
  async remove ({ id }) {
    await transact(['logbooks', 'drafts'], 'readwrite', (books, safely, give, drafts) => {
      books.delete(id)
      drafts.delete(draftsOf(id))
    })
    others.postMessage({ from: here, id, what: 'gone' })
  }
}

let last = Promise.resolve()
function queue (work) {
  const done = last.then(work)
  last = done.catch(() => {})
  return done
}

// reply answers the page once work is done; what comes later keeps nothing waiting.
const reply = (n, work) => work.then(value => { value?.later ? reply(n, value.later) : postMessage({ n, value }) }, e => postMessage({ n, error: e.message }))

onmessage = ({ data }) => queue(() => reply(data.n, (async () => tasks[data.task](data))()))
