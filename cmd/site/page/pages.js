// The report and the next dive's card: pages that stand alone, shown in a frame
// that can reach nothing, saved and shared as they are.
'use strict'

const page = (name, head, row = {}) => looked('Making it…', name, { Row: row }, async (_, bytes) => {
  const file = new File([bytes], name + '.html', { type: 'text/html' })
  $('page-head').textContent = head
  $('card-for').hidden = name !== 'card'
  offer($('page-save'), file)
  shared($('page-share'), [file])
  view('page', state.vehicle)
  const srcdoc = await file.text()
  await new Promise(resolve => {
    $('page-frame').replaceWith(el('iframe', { id: 'page-frame', sandbox: 'allow-scripts', title: head, srcdoc, onload: resolve }))
  })
})

$('see-report').onclick = tried(() => page('report', 'Report'))
$('see-card').onclick = tried(() => page('card', 'Card for the next dive'))
$('card-for').onsubmit = tried(async () => {
  await page('card', 'Card for the next dive', Object.fromEntries([...new FormData($('card-for'))].filter(([, text]) => text.trim())))
  $('card-for').querySelector('details').open = false
})
$('from-page').onclick = back
