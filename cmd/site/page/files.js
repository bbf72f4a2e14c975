// Files that are taken in and given out.
'use strict'

const bytesOf = async file => new Uint8Array(await file.arrayBuffer())

// chosen are the files that were chosen, by what they are.
async function chosen (input, want, enough) {
  const files = [...input.files]
  input.value = ''
  const toml = files.filter(f => f.name.endsWith('.toml'))
  const locate = files.filter(f => f.name.startsWith('locate'))
  const csv = files.filter(f => !toml.includes(f) && !locate.includes(f))
  if (!enough(toml.length, csv.length) || locate.length > 1) throw new Error('Found ' + (files.map(f => f.name).join(', ') || 'no file') + ', want ' + want + '.')
  return { vehicle: toml[0] && await bytesOf(toml[0]), dives: csv[0] && await bytesOf(csv[0]), locate: locate[0] && await bytesOf(locate[0]) }
}

$('files').onchange = tried(async () => {
  const files = await chosen($('files'), 'one vehicle.toml and one dives.csv, chosen at once', (toml, csv) => toml === 1 && csv === 1)
  soon('')
  await open(await ask('take', { ...files, today: today() }))
})

$('merge').onchange = tried(async () => {
  const files = await chosen($('merge'), 'one dives.csv, and one vehicle.toml at most', (toml, csv) => toml <= 1 && csv === 1)
  const added = await ask('merge', files)
  await open(opened)
  say('Taken in. ' + (added.length ? 'Of here it also has: ' + added.join('; ') + '.' : 'It has all lines of here.'))
})

async function give () {
  const files = await ask('files')
  const all = [new File([files.dives], 'dives.csv', { type: 'text/csv' }), new File([files.vehicle], 'vehicle.toml', { type: 'text/plain' })]
  if (files.locate) all.push(new File([files.locate], 'locate.csv', { type: 'text/csv' }))
  offer($('give-dives'), all[0])
  offer($('give-vehicle'), all[1])
  $('give-locate').hidden = !files.locate
  if (files.locate) offer($('give-locate'), all[2])
  shared($('share'), all)
}

// offer lets a link save a file.
function offer (link, file) {
  URL.revokeObjectURL(link.href)
  link.download = file.name
  link.href = URL.createObjectURL(new Blob([file], { type: 'application/octet-stream' }))
}

// shared lets a button share files, where the browser can.
function shared (button, files) {
  button.hidden = !(navigator.canShare && navigator.canShare({ files }))
  button.onclick = tried(() => navigator.share({ files }))
}

async function leave (why = '') {
  opens++
  const closed = ask('close')
  await logbooks()
  say(why)
  await closed
}
$('back').onclick = tried(() => leave())
