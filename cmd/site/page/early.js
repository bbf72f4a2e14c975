// A line may be typed before there is a model, or a logbook: until then it is a
// draft of logbook 0, which is none.
'use strict'

$('write').onclick = tried(async () => {
  opens++
  ask('early').catch(e => stop(e.message))
  say('')
  opened = 0
  state = { label: '', date: today(), lines: [] }
  $('other').hidden = $('whole').hidden = true
  $('dive-head').textContent = 'A line of no logbook yet'
  $('state').replaceChildren(el('p', {}, 'What you type stays on this phone. Then take a logbook in, or describe the vehicle: this becomes its next line.'))
  $('lines').replaceChildren()
  view('dive', '')
  await again(0)
})

// adopted moves the line that was typed before there was a logbook to the one that
// is shown, unless that has one that is being typed.
async function adopted () {
  const [typed] = await mine(0)
  if (!typed || (await mine(opened)).length) return false
  await drafts('readwrite', all => {
    all.delete(typed.key)
    all.put({ ...typed, date: state.date }, [opened, state.label, 'new', tab])
  })
  return true
}
