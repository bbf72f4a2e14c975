// What is asked about before a line is kept, and keeping it.
'use strict'

const mark = d => d.column + ' ' + d.text
const left = f => f.doubts.filter(d => !line.stand.has(mark(d)))

function doubts (f) {
  const open = left(f)
  $('doubts').hidden = !open.length
  $('doubts').replaceChildren(...open.flatMap(d => [el('p', {}, d.text), el('p', { class: 'bar' },
    d.instead ? el('button', { type: 'button', onclick: () => instead(d) }, 'It is ' + d.meant) : '',
    el('button', { type: 'button', onclick: () => stands(d) }, 'It stands as typed'))]))
}

function stands (d) {
  line.stand.add(mark(d))
  doubts(line.form)
  ;(left(line.form).length ? $('doubts') : $('keep')).focus()
}

function instead (d) {
  for (const [column, text] of Object.entries(d.instead)) {
    if (text) line.row[column] = text
    else delete line.row[column]
  }
  draft()
  $('fields').replaceChildren() // drawn anew from the row
  tried(async () => {
    await form()
    ;(left(line.form).length ? $('doubts') : $('keep')).focus()
  })()
}

$('line').onsubmit = tried(async () => {
  if (waits()) return say('In a moment: it is checked first.')
  soon('Keeping it…')
  await stored // what is said of it below is that it stays
  if (running || line.of !== JSON.stringify(line.row)) await form()
  const f = line.form
  if (f.problem) {
    const bad = $('fields').querySelector('[aria-invalid]')
    if (bad) bad.focus()
    return stop('Not kept: ' + f.problem)
  }
  if (left(f).length) {
    $('doubts').focus()
    return stop('Not kept yet: say of each reading in doubt whether it stands.')
  }
  if (!opened) return leave('Not in a logbook yet: take one in, or make one.')
  const at = line.at
  $('keep').disabled = true
  try {
    await written('keep', { line: at, row: line.row, draft: place() }, 'Line ' + (at + 1) + ' is kept.')
    firstField().focus()
  } finally { $('keep').disabled = false }
})

// elsewhere shows what another tab has kept.
function elsewhere (now) {
  const typing = fresh()
  state = now
  dive()
  if (typing) line.at = state.lines.length
  else begin()
  say('Another tab has kept a line of this logbook; it is shown here now.')
  give()
  tried(form)()
}

$('every').onchange = tried(form)

$('complete').onclick = tried(() => looked('Working out what the dive says…', 'after', { Label: state.label }, a => {
  const list = [['The dive', a.says], ...a.mind.map(m => ['Mind', m]), ['Before the next dive', a.check], ['Would tell more', a.read]].filter(([, t]) => t)
  $('after').replaceChildren(...list.map(([head, t]) => el('p', {}, el('b', {}, head + ': '), t)))
  $('after').hidden = false
  if (!$('fields').contains(document.activeElement)) $('after').focus()
}))
