// The fields of a line: one for each cell that makes sense on it.
'use strict'

// draw brings the fields up to date; those that are there already stay, with
// what is typed in them and the focus.
function draw (f) {
  $('line-head').textContent = state.early ? 'Readings' : line.at < state.lines.length ? 'Line ' + (line.at + 1) + ' again' : 'Line ' + (line.at + 1)
  const key = line.at + ' ' + state.label
  const had = new Map([...$('fields').children].filter(e => e.dataset.line === key).map(e => [e.dataset.column, e]))
  const list = f.fields.map(field => {
    const e = had.get(field.column) || made(field, key)
    const should = e.querySelector('.should')
    should.textContent = field.should ? 'should be ' + minus(field.should).replaceAll(' ', '\u00a0') : ''
    should.hidden = !field.should
    e.querySelector('.bad').textContent = field.problem
    for (const input of e.querySelectorAll('input, select')) field.problem ? input.setAttribute('aria-invalid', 'true') : input.removeAttribute('aria-invalid')
    return e
  })
  const focus = document.activeElement
  const caret = focus.selectionStart
  if (list.some((e, i) => $('fields').children[i] !== e) || list.length !== $('fields').children.length) {
    $('fields').replaceChildren(...list)
    const anew = $('fields').contains(focus) ? focus : $(focus.id)
    if (anew && anew !== document.activeElement) {
      anew.focus()
      if (anew.type === 'text') anew.setSelectionRange(caret, caret)
    }
  }
  $('problem').textContent = f.problem
  $('meanings').replaceChildren(...f.fields.flatMap(c => [el('dt', {}, c.words + ' ', el('code', {}, c.column)), el('dd', {}, c.help)]))
  doubts(f)
}

const makers = { number, signed, choice, services, yes, text }

function made (field, key) {
  const id = 'f-' + field.column
  const e = el('div', { class: field.unit ? 'field beside' : 'field', 'data-column': field.column, 'data-line': key })
  const about = id + '-should ' + id + '-bad'
  e.append(...makers[field.kind](field, id, about), el('p', { id: id + '-should', class: 'should' }), el('p', { id: id + '-bad', class: 'bad' }))
  return e
}

const labelled = (field, id) => el('label', { for: id }, field.words + (field.unit ? ', ' + field.unit : ''))

// typed notes a cell and asks about the line anew.
function typed (column, text) {
  note(column, text)
  tried(form)()
}

// What is being typed is noted letter by letter.
$('fields').oninput = ({ target }) => {
  if (target.type === 'text') note(target.closest('.field').dataset.column, target.value.trim())
}

function number (field, id, about, mode = 'decimal') {
  const input = el('input', { id, inputmode: mode, autocomplete: 'off', value: line.row[field.column] ?? '', 'aria-describedby': about, onchange: () => typed(field.column, input.value.trim()) })
  return [labelled(field, id), el('div', { class: 'with' }, input)]
}

// A number keypad of a phone may have no minus.
function signed (field, id, about) {
  const [label, box] = number(field, id, about)
  const input = box.firstChild
  box.append(el('button', {
    type: 'button',
    'aria-label': 'change the sign of ' + field.column,
    onclick: () => {
      input.value = input.value.startsWith('-') ? input.value.slice(1) : '-' + input.value
      typed(field.column, input.value.trim())
    }
  }, '±'))
  return [label, box]
}

function text (field, id, about) {
  const had = Object.hasOwn(line.row, field.column) ? line.row[field.column] : '' // a log's own column may have any name
  const input = el('input', { id, autocomplete: 'off', value: had, 'aria-describedby': about, onchange: () => typed(field.column, input.value.trim()) })
  return [labelled(field, id), input]
}

function yes (field, id, about) {
  const box = el('input', { id, type: 'checkbox', checked: line.row[field.column] === field.yes, 'aria-describedby': about, onchange: () => typed(field.column, box.checked ? field.yes : '') })
  return [el('label', { class: 'tick', for: id }, box, field.words)]
}

// A choice has every word, and any other text.
function choice (field, id, about) {
  const now = line.row[field.column] ?? ''
  const list = [...new Set([...field.choices, now].filter(w => w))]
  const free = el('input', { 'aria-label': 'thrusters in words: names joined by +, each with astern or down where reversed', autocomplete: 'off', hidden: true, onchange: () => typed(field.column, free.value.trim()) })
  const select = el('select', {
    id,
    'aria-describedby': about,
    onchange: () => {
      free.hidden = select.value !== '?'
      typed(field.column, select.value === '?' ? free.value.trim() : select.value)
    }
  }, el('option', { value: '' }, 'not written down'), ...list.map(w => el('option', { value: w, selected: w === now }, w)), el('option', { value: '?' }, 'others, in words'))
  return [labelled(field, id), select, free]
}

function services (field, id, about) {
  const had = (line.row[field.column] ?? '').split('+')
  const boxes = field.choices.map(w => el('input', { type: 'checkbox', value: w, checked: had.includes(w), onchange: () => typed(field.column, boxes.filter(b => b.checked).map(b => b.value).join('+')) }))
  return [el('details', { open: boxes.some(b => b.checked) }, el('summary', {}, 'Anything worked on since the last dive?'),
    el('fieldset', { 'aria-describedby': about }, el('legend', {}, field.help), ...boxes.map(b => el('label', { class: 'tick' }, b, b.value))))]
}
