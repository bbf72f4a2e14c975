// The report and the next dive's card: pages that stand alone, shown in a frame
// that can reach nothing, saved and shared as they are.
'use strict'

async function page (name, head, row = {}) {
  say('Making it…')
  const bytes = await ask('page', { name, row, today: today() })
  const file = new File([bytes], name + '.html', { type: 'text/html' })
  $('page-head').textContent = head
  $('card-for').hidden = name !== 'card'
  $('page-frame').title = head
  offer($('page-save'), file)
  shared($('page-share'), [file])
  view('page', state.vehicle)
  const loaded = new Promise(resolve => { $('page-frame').onload = resolve })
  $('page-frame').srcdoc = await file.text()
  await loaded
  say('')
}

$('see-report').onclick = tried(() => page('report', 'Report'))
$('see-card').onclick = tried(() => page('card', 'Card for the next dive'))
$('card-for').onsubmit = tried(async () => {
  await page('card', 'Card for the next dive', Object.fromEntries([...new FormData($('card-for'))].filter(([, text]) => text.trim())))
  $('card-for').querySelector('details').open = false
})
$('from-page').onclick = () => {
  view('dive', state.vehicle)
  $('page-frame').srcdoc = ''
}
