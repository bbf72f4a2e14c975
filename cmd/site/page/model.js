// A model: the Go program of the page, of which each worker has its own.
'use strict'

// fetched fetches a model, which is packed with gzip; progress is told the bytes
// that are here.
async function fetched (file, progress = () => {}) {
  const got = await fetch(file).catch(() => ({}))
  if (!got.ok) throw new Error('A part of this page, ' + file + ', is not on this phone yet: open the page once more with a network.')
  let done = 0
  const counted = got.body.pipeThrough(new TransformStream({
    transform (part, to) {
      progress(done += part.length)
      to.enqueue(part)
    }
  }))
  return WebAssembly.compileStreaming(new Response(counted.pipeThrough(new DecompressionStream('gzip')), { headers: { 'Content-Type': 'application/wasm' } }))
}

// started starts a model.
async function started (compiled) {
  const go = new Go()
  const ready = new Promise(resolve => { self.saglineReady = resolve })
  go.run(await WebAssembly.instantiate(compiled, go.importObject))
  return ready
}

// answered asks a model; it answers at once.
function answered (call, name, args, ...files) {
  const [text, ...out] = call(name, JSON.stringify(args), ...files)
  const answer = JSON.parse(text)
  if (answer.error !== undefined) throw new Error(answer.error)
  return [answer.value, ...out]
}
