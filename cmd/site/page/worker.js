// The worker holds the model and the store, so that neither a long fit nor a
// slow disk stops the page. What is asked of it is done one after the other.
'use strict'
importScripts('wasm_exec.js', 'store.js')

const here = crypto.randomUUID() // this tab
const others = new BroadcastChannel('sagline')
let current // the logbook that the page shows: its id, and the version that the model has

let sagline // the model
let pages // a promise of the model that makes pages too
let paged // the logbook, version and day that it has

// load fetches a model, which is packed with gzip, and starts it.
async function load (file, bytes) {
  const got = await fetch(file).catch(() => ({}))
  if (!got.ok) throw new Error('A part of this page, ' + file + ', is not on this phone yet: open the page once more with a network.')
  let done = 0
  const counted = got.body.pipeThrough(new TransformStream({
    transform (part, to) {
      done += part.length
      postMessage({ loaded: Math.min(1, done / bytes) })
      to.enqueue(part)
    }
  }))
  const wasm = new Response(counted.pipeThrough(new DecompressionStream('gzip')), { headers: { 'Content-Type': 'application/wasm' } })
  const go = new Go()
  const ready = new Promise(resolve => { self.saglineReady = resolve })
  const { instance } = await WebAssembly.instantiateStreaming(wasm, go.importObject)
  go.run(instance)
  return ready
}

const model = (...asked) => answered(sagline, ...asked)

// answered asks a model; it answers at once.
function answered (call, name, args, ...files) {
  const [text, ...out] = call(name, JSON.stringify(args), ...files)
  const answer = JSON.parse(text)
  if (answer.error !== undefined) throw new Error(answer.error)
  return [answer.value, ...out]
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
  current = { id: book.id, version: book.version }
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
  })
}

// write lets the model write into the log. Only when the store has it is it
// current as kept.
async function write (call, what, draft) {
  const seen = current.version
  const { book, before } = await change(current.id, book => {
    [, book.dives] = model(call, what, book.dives)
  }, draft)
  const state = show(book)
  announce('kept')
  return { state, elsewhere: before !== seen }
}

// What the page asks for.
const tasks = {
  // load gives the cautions.
  async load ({ bytes }) {
    sagline = await load('model.bin', bytes)
    return model('cautions', {})[0]
  },
  list: () => transact('logbooks', 'readonly', (books, safely, give) => {
    const ask = books.getAll()
    ask.onsuccess = () => give(ask.result.map(b => ({ id: b.id, name: b.name, bytes: b.dives.length + b.vehicle.length })))
  }),
  // take stores the files of a logbook, if they can be written into.
  async take ({ vehicle, dives, today }) {
    const [state] = model('open', { Today: today }, vehicle, dives)
    return put({ name: state.vehicle || 'vehicle with problems', vehicle, dives, base: dives, version: 1 })
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
    const [state] = model('open', { Today: today }, book.vehicle, book.dives)
    current = { id, version: book.version }
    announce('opened')
    return { ...state, written: book.written ?? 0 }
  },
  close () { current = undefined },
  expect: () => model('expect', {})[0],
  begin: ({ label, date }) => model('begin', { Label: label, Date: date })[0],
  line: ({ line, row, every }) => model('line', { Line: line, Row: row, All: every })[0],
  after: () => model('after', {})[0],
  trend: () => model('trend', {})[0],
  // page makes a page to look at and pass around.
  async page ({ name, row, today }) {
    const { vehicle, dives, version } = await read(current.id)
    pages ??= load('pages.bin', Infinity).catch(e => { pages = undefined; throw e })
    const call = await pages
    const now = [current.id, version, today].join(' ')
    if (paged !== now) answered(call, 'open', { Today: today }, vehicle, dives)
    paged = now
    return answered(call, name, { Row: row })[1]
  },
  keep: ({ line, row, draft }) => write('keep', { Line: line, Row: row }, draft),
  strike: ({ line, draft }) => write('strike', { Line: line }, draft),
  // merge takes in a copy of the log that was written on elsewhere.
  async merge ({ vehicle, dives }) {
    let added
    await change(current.id, book => {
      const [said, merged] = model('merge', {}, book.base, book.dives, dives, ...(vehicle ? [vehicle] : []))
      if (!merged) throw new Error('Not merged, and nothing changed: ' + said.conflicts.join('; ') + '. Mend one of the copies, or take the other in as a logbook beside this one.')
      added = said.added
      book.dives = book.base = merged
      book.vehicle = vehicle || book.vehicle
    })
    announce('kept')
    return added
  },
  files: async () => {
    const { vehicle, dives } = await read(current.id)
    return { vehicle, dives }
  },
  async remove ({ id }) {
    await transact('readwrite', books => { books.delete(id) })
    others.postMessage({ from: here, id, what: 'gone' })
  }
}

let last = Promise.resolve()
function queue (work) {
  last = last.then(work).catch(() => {})
}

onmessage = ({ data }) => queue(async () => {
  try {
    postMessage({ n: data.n, value: await tasks[data.task](data) })
  } catch (e) {
    postMessage({ n: data.n, error: e.message })
  }
})
