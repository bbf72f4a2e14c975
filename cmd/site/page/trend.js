// What drifts over the dives, and what to read on the next.
'use strict'

$('see-trend').onclick = tried(() => looked('Working out what drifts…', 'trend', {}, t => {
  const found = t.findings.map(lines => el('div', { class: 'note' }, ...lines.map((l, i) => el('p', {}, i ? l : el('b', {}, l)))))
  $('findings').replaceChildren(...(found.length ? found : [el('p', {}, t.verdict)]),
    ...t.alarms.map(a => el('p', {}, a)), ...t.remarks.map(r => el('p', {}, r)))
  $('next').replaceChildren(...t.next.map(n => el('li', {}, n)))
  $('quantities').replaceChildren(...t.rows.map(([name, ...cells]) => el('div', { class: 'quantity' }, el('h4', {}, name),
    el('dl', {}, ...cells.flatMap((c, i) => c === '-' ? [] : [el('dt', {}, t.head[i + 1]), el('dd', {}, c)])))))
  view('trend', state.vehicle)
}))

$('to-dive').onclick = back
