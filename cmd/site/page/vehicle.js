// A new vehicle, described in answers to questions.
'use strict'

$('new').onclick = tried(async () => {
  opens++
  soon('')
  const had = await drafts('readonly', (all, safely, give) => {
    const ask = all.get('vehicle')
    ask.onsuccess = () => give(ask.result ?? {})
  }) // of a vehicle that was not made
  questions(await ask('questions', { answers: had }), had)
  view('vehicle', '')
  say('')
})

function questions (list, had) {
  $('questions').replaceChildren(...list.filter(q => !q.skip).map(q => question(q, had[q.id])), el('p', { class: 'bar' },
    el('button', { class: 'main' }, 'Make the logbook'), el('button', { type: 'button', onclick: tried(logbooks) }, 'All logbooks')))
}

// question asks one question: in words, by one of some words, or by several.
function question (q, had) {
  const id = 'q-' + q.id
  const value = had ?? q.preset
  const is = { id, name: q.id, 'aria-describedby': id + '-help ' + id + '-bad', 'aria-invalid': q.problem ? 'true' : undefined }
  const after = [el('p', { id: id + '-bad', class: 'bad' }, had === undefined ? '' : q.problem),
    el('details', {}, el('summary', {}, 'How to find out'), el('p', { id: id + '-help' }, q.help))]
  if (q.several) {
    const given = value.split('+').map(v => v.trim())
    return el('div', { class: 'field' }, el('fieldset', {}, el('legend', {}, q.text),
      ...q.words.map(w => el('label', { class: 'tick' }, el('input', { type: 'checkbox', name: q.id, value: w, checked: given.includes(w) }), w))), ...after)
  }
  const input = q.words.length
    ? el('select', is, ...['', ...q.words].map(w => el('option', { value: w, selected: w === value }, w || 'not known')))
    : el('input', { ...is, value, autocomplete: 'off' })
  return el('div', { class: 'field' }, el('label', { for: id }, q.text + (q.need ? ' (needed)' : '')), input, ...after)
}

function answers () {
  const out = {}
  for (const { name, type, value, checked } of $('questions').querySelectorAll('input, select')) {
    if (type !== 'checkbox') out[name] = value.trim()
    else out[name] = [out[name], checked && value].filter(v => v).join(' + ')
  }
  return out
}

$('questions').oninput = () => {
  const now = answers()
  drafts('readwrite', all => { all.put(now, 'vehicle') }).catch(e => stop(e.message))
}

$('questions').onsubmit = tried(async () => {
  const given = answers()
  const got = await ask('make', { answers: given })
  if (got.questions) {
    questions(got.questions, given)
    const first = $('questions').querySelector('[aria-invalid]')
    if (first) first.focus()
    throw new Error('Not made yet: what is wanted stands at each answer.')
  }
  await drafts('readwrite', all => { all.delete('vehicle') })
  await open(got.id)
})
