// The dive that is being written, and the line that is being typed.
'use strict'

async function open (id) {
  say('')
  state = await ask('open', { id, today: today() })
  opened = id
  if (navigator.storage && navigator.storage.persist) navigator.storage.persist()
  $('after').hidden = true
  dive()
  view('dive', state.vehicle)
  await begin()
  await give()
  state = await ask('expect')
  dive()
  await form()
}

// dive shows the dive as it stands.
function dive () {
  $('dive-head').textContent = 'Dive ' + state.label + ', ' + state.date
  const notes = [...(state.problems || []).map(p => el('p', { class: 'bad' }, p)), ...(state.mind || []).map(m => el('p', { class: 'bad' }, 'Mind: ' + m)),
    ...(state.remarks || []).map(r => el('p', {}, r))]
  if (!state.expects) notes.push(el('p', {}, (state.problems || []).length ? 'No reading is expected until this is mended; lines are kept all the same.' : 'Working out what the next readings should be…'))
  $('state').replaceChildren(...notes)
  $('lines').replaceChildren(...state.lines.map((cells, i) => el('li', {},
    el('span', {}, (i + 1) + ' kept: ' + cells.map(words).join(', ')),
    el('p', { class: 'bar' }, el('button', { type: 'button', onclick: tried(() => again(i)) }, 'Change line ' + (i + 1))))))
  $('label').value = state.another
  $('date').value = today()
  $('complete').hidden = !state.begun
}

const words = c => c.column === 'thrusters' ? c.text : c.column === 'held' ? 'held' : c.column + ' ' + c.text

async function begin () {
  line = { at: state.lines.length, stand: new Set() }
  $('leave').hidden = true
  await form()
}

async function again (i) {
  line = { at: i, stand: new Set() }
  $('leave').hidden = false
  await form()
  $('line-head').scrollIntoView()
  firstField().focus()
}

const firstField = () => $('fields').querySelector('input, select, button')

$('leave').onclick = tried(begin)
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
  stale = true
  running ??= (async () => {
    while (stale) {
      stale = false
      const now = line
      const f = await ask('line', { line: now.at, row: now.row, every: $('every').checked })
      if (now !== line) continue
      now.row ??= f.row
      now.form = f
      draw(f)
    }
  })().finally(() => { running = undefined })
  return running
}
