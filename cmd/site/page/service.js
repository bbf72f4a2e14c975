// The service worker gives out the files of one version of the page, so that
// nothing is asked of the network once they are here. A newer version waits
// until no tab shows this one.
'use strict'
const version = '{{.Version}}'
const files = [new Request('./', { cache: 'no-cache' }){{range .Files}}, '{{.}}'{{end}}]
const later = '{{.Later}}' // fetched by the page once it can be typed in; by a newer version at once

oninstall = event => event.waitUntil(caches.open(version).then(cache => cache.addAll(registration.active ? [...files, later] : files)))

onactivate = event => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name !== version) await caches.delete(name)
  await clients.claim()
})())

onfetch = event => {
  if (event.request.method !== 'GET') return
  const wanted = event.request.mode === 'navigate' ? './' : event.request
  event.respondWith(caches.open(version).then(cache => cache.match(wanted)).then(found => found || fetch(event.request)))
}
