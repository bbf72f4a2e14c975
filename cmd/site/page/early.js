// A line may be typed before the model has its logbook, or before there is one: of
// that it is a draft, and until there is a logbook one of logbook 0, which is none.
'use strict'

// early shows such a line of a logbook, with what was typed of it before.
async function early (id, head, why) {
  const [had] = await mine(id)
  if (had && had.key[2] !== 'new') return
  opened = id
  state = { label: had?.key[1] ?? '', date: had?.date ?? today(), lines: [], early: opens }
  $('other').hidden = $('whole').hidden = true
  $('dive-head').textContent = head
  $('state').replaceChildren(el('p', {}, 'What you type stays on this phone. ' + why))
  $('lines').replaceChildren()
  view('dive', '')
  await again(0)
}

// waits says whether the model does not have the line's logbook yet.
const waits = () => state.early && opened

$('write').onclick = tried(async () => {
  opens++
  ask('early').catch(e => stop(e.message))
  say('')
  await early(0, 'A line of no logbook yet', 'Then take a logbook in, or describe the vehicle: this becomes its next line.')
})

// adopted moves the line that was typed before there was a logbook, or before the
// model had it, to the dive that is shown, unless that logbook has one that is
// being typed.
async function adopted () {
  const had = await mine(opened)
  const typed = had.find(d => !d.key[1]) ?? (await mine(0))[0]
  if (!typed || had.some(d => d.key[1])) return false
  await drafts('readwrite', all => {
    all.delete(typed.key)
    all.put({ ...typed, date: state.date }, [opened, state.label, 'new', tab])
  })
  return true
}
