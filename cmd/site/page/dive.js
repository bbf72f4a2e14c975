// The dive that is being written, and the line that is being typed.
'use strict'

async function open (id, name) {
  const now = ++opens
  if (name && !$('loading').hidden) await early(id, 'The next line of ' + name, 'It is checked in a moment, and can be kept then.')
  if (state?.early !== now) soon('')
  let got = await ask('open', { id, today: today() })
  if (now === opens) say('')
  const last = await newest(id)
  if (last?.label && last.when > got.written) got = await ask('begin', last)
  if (now !== opens) return
  const shown = state?.early === now
  const typed = shown && line.typed && ['', got.label].includes(state.label) ? line.row : undefined
  const from = shown && place()
  state = got
  opened = id
  const moved = !shown && await adopted() // where it is shown, nothing comes in between: it may be typed into
  if (navigator.storage && navigator.storage.persist) navigator.storage.persist()
  $('after').hidden = true
  dive()
  if (shown) $('where').textContent = state.vehicle
  else view('dive', state.vehicle)
  await again(Math.min(last?.label === state.label ? last.line : Infinity, state.lines.length), { row: typed, from, bare: moved || (typed && !from[1]) })
  if (moved) say('The line that you typed before is here: look at it, and keep it.')
  await give()
  if (state.expects || state.problems) return
  const ranges = await ask('expect')
  if (!ranges) return
  state = ranges
  dive()
  await form()
}

// dive shows the dive as it stands.
function dive () {
  $('other').hidden = $('whole').hidden = false
  $('dive-head').textContent = 'Dive ' + state.label + (state.date && ', ' + state.date)
  const notes = [...(state.problems || []).map(p => el('p', { class: 'bad' }, p)), ...(state.mind || []).map(m => el('p', { class: 'bad' }, 'Mind: ' + m)),
    ...(state.remarks || []).map(r => el('p', {}, r))]
  if (!state.expects) notes.push(el('p', {}, (state.problems || []).length ? 'No reading is expected until this is mended; lines are kept all the same.' : 'Working out what the next readings should be…'))
  $('state').replaceChildren(...notes)
  $('lines').replaceChildren(...state.lines.map((cells, i) => el('li', {},
    el('span', {}, (i + 1) + ' kept: ' + cells.map(words).join(', ')),
    changes(i))))
  $('label').value = state.another
  $('date').value = state.dated ? today() : ''
  $('complete').hidden = !state.begun
}

// changes are the buttons of a kept line.
function changes (i) {
  const strike = el('button', { type: 'button', onclick: tried(() => strikes(i, strike)) }, 'Strike line ' + (i + 1))
  const change = el('button', {
    type: 'button',
    onclick: tried(async () => {
      await again(i)
      $('line-head').scrollIntoView()
      firstField().focus()
    })
  }, 'Change line ' + (i + 1))
  return el('p', { class: 'bar' }, change, strike)
}

// strikes strikes a line at the second press.
async function strikes (i, button) {
  if (!sure(button, 'Strike line ' + (i + 1) + '? It stays in dives.csv as a comment.')) return
  await written('strike', { line: i, draft: [opened, state.label, i, tab] }, 'Line ' + (i + 1) + ' is struck.')
  $('dive-head').focus()
}

// written lets the worker write into the log, shows what stands then and says it.
async function written (task, what, done) {
  const got = await ask(task, what)
  state = got.state
  dive()
  say(done + (got.elsewhere ? ' Another tab has kept lines too; all of them are shown.' : ''))
  await begin()
  await give()
}

const words = c => c.column === 'thrusters' ? c.text : c.column === 'held' ? 'held' : c.column + ' ' + c.text

// begin begins a line.
const begin = () => again(state.lines.length)

// again goes over a line, with what was typed of it before: row, where that is
// being typed now, as the draft that has the key from; bare, where that does not
// have what such a line begins with.
async function again (at, { row, from, bare } = {}) {
  line = { at, row: row ?? {}, stand: new Set() }
  const now = line
  const focus = $('fields').contains(document.activeElement) && document.activeElement.id
  if (row) draft(from)
  else $('fields').inert = true // until they are of this line
  try {
    if (!row) {
      now.row = await drafted()
      now.typed = !!now.row
    }
    $('leave').hidden = fresh()
    if (state.early) {
      now.row ??= opened ? {} : { ...first.row }
      draw(first)
      return tried(form)() // once the model is here
    }
    if (bare) {
      now.row = { ...(await ask('line', { line: at })).row, ...now.row }
      draft()
    }
    await form()
  } finally {
    if ($('fields').inert) {
      $('fields').inert = false
      $(focus)?.focus()
    }
  }
}

const firstField = () => $('fields').querySelector('input, select, button')

$('leave').onclick = tried(async () => {
  await drop()
  await begin()
})
$('begin').onsubmit = tried(async () => {
  state = await ask('begin', { label: $('label').value, date: $('date').value })
  $('other').open = false
  $('after').hidden = true
  dive()
  await begin()
  $('dive-head').focus()
})

// form asks for the line's form, and shows it. While an answer is on its way
// what is typed is only noted, and asked about after it.
let running
let stale
function form () {
  if (waits()) return
  stale = true
  running ??= (async () => {
    while (stale) {
      stale = false
      const now = line
      const of = JSON.stringify(now.row)
      const f = await ask('line', { line: now.at, row: now.row, every: $('every').checked })
      if (now !== line) continue
      now.of = now.row ? of : JSON.stringify(f.row) // what form is of
      now.row ??= f.row
      now.form = f
      draw(f)
    }
  })().finally(() => { running = undefined })
  return running
}
