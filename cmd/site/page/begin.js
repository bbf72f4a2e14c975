// What happens once all of the page is here.
'use strict'

tried(async () => {
  const shown = tried(logbooks)()
  await ask('load', { bytes: Number(script.bytes) })
  $('loading').hidden = true
  await shown
  if ('serviceWorker' in navigator) {
    const had = await navigator.serviceWorker.getRegistration()
    if (!had) await navigator.serviceWorker.register('service.js')
    await navigator.serviceWorker.ready
    $('storage').textContent = 'This page now works without a network. ' + await storage()
    const cache = await caches.open(script.version)
    const has = await cache.match(script.later) || await cache.add(script.later).then(() => true, () => false)
    if (has) $('storage').textContent = 'This page and its reports now work without a network. ' + await storage()
  }
})()
