// The judge has models apart from the one that lines are written with, for what
// takes long: fitting the dives, and making pages of them. One thing is asked of
// it at a time.
'use strict'
importScripts('wasm_exec.js', 'model.js')

let judges // promises of the models: of the judge, and of the one that makes pages too
let pages
const has = new Map() // the logbook, version and day that each has

onmessage = async ({ data: { compiled, now, today, vehicle, dives, name, args } }) => {
  try {
    const makes = name === 'report' || name === 'card'
    if (makes) pages ??= fetched('pages.bin').then(started).catch(e => { pages = undefined; throw e })
    else judges ??= started(compiled)
    const model = await (makes ? pages : judges)
    if (has.get(model) !== now) answered(model, 'open', { Today: today }, vehicle, dives)
    has.set(model, now)
    postMessage({ value: answered(model, name, args) })
  } catch (e) {
    postMessage({ error: e.message })
  }
}
