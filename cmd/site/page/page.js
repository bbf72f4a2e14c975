// The page shows what the worker says, and asks it. It has no rule of its own
// about logs, vehicles or readings. Text goes in as text, never as HTML.
'use strict'

const script = document.currentScript.dataset
const $ = id => document.getElementById(id)
const worker = new Worker(script.version + '/worker.js')
const waiting = new Map() // what was asked and not answered yet
let asked = 0
let state // of the logbook that is shown
let opened // its id; 0: there is none yet
let opens = 0 // how often one was wanted
let line // the line being typed: {at, row, stand}, typed where a draft of it is stored

// ask asks the worker to do a task.
function ask (task, what = {}) {
  return new Promise((resolve, reject) => {
    waiting.set(++asked, { resolve, reject })
    worker.postMessage({ ...what, task, n: asked })
  })
}

worker.onmessage = ({ data }) => {
  if (data.loaded !== undefined) $('loaded').value = data.loaded
  else if (data.gone) leave('Another tab has removed this logbook.')
  else if (data.also) say('This logbook is also open in another tab. Lines kept in either are kept.')
  else if (data.elsewhere) elsewhere(data.elsewhere)
  else {
    const { resolve, reject } = waiting.get(data.n)
    waiting.delete(data.n)
    data.error === undefined ? resolve(data.value) : reject(new Error(data.error))
  }
}
worker.onerror = event => stop('The model does not run in this browser: ' + event.message)

// minus gives a text that is read minus signs, as the pages have; what is typed has hyphens.
const minus = text => typeof text === 'string' ? text.replace(/(^|[^\p{L}\d])-(\d)/gu, '$1−$2') : text

// el makes an element; what is not an element among its children is text.
function el (name, is = {}, ...children) {
  const e = document.createElement(name)
  for (const [key, value] of Object.entries(is)) {
    if (key.startsWith('on')) e[key] = value
    else if (value === true) e.setAttribute(key, '')
    else if (value !== undefined && value !== false) e.setAttribute(key, value)
  }
  e.append(...name === 'code' ? children : children.map(minus))
  return e
}

const say = text => { $('stop').textContent = ''; $('say').textContent = text }
// soon says something of what the model does, once it is here.
const soon = text => say($('loading').hidden ? text : 'This goes on as soon as readings can be checked…')
const stop = text => { $('say').textContent = ''; $('stop').textContent = text }

// looked asks what takes long of the dives and shows it, and says so as long as
// nothing else is said.
async function looked (saying, name, args, show) {
  say(saying)
  try {
    await show(...await ask('look', { name, args, today: today() }))
  } finally { if ($('say').textContent === saying) say('') }
}

// tried does something and says what went wrong.
const tried = work => async event => {
  if (event) event.preventDefault()
  try { await work(event) } catch (e) { stop(e.message) }
}

// sure says whether a button is pressed for the second time; at the first it
// asks.
function sure (button, question) {
  if (button.dataset.sure) return true
  button.dataset.sure = 'yes'
  button.textContent = question
}

function view (id, where) {
  for (const s of document.querySelectorAll('main > section')) s.hidden = s.id !== id
  $('where').textContent = where
  $(id + '-head').focus()
  if ((id === 'trend' || id === 'page') && !history.state) history.pushState({}, '') // from which the phone's own back leads to the dive
}

const back = () => history.back()
onpopstate = () => { if (opened) view('dive', state.vehicle) }

// today is the person's day.
function today () {
  const d = new Date()
  const two = n => String(n).padStart(2, '0')
  return d.getFullYear() + '-' + two(d.getMonth() + 1) + '-' + two(d.getDate())
}
