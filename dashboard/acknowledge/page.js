// Says that a message was read. The code stands behind `#`, so that neither a proxy nor a log reads it, and a machine that only opens the
// link acknowledges nothing.
const form = document.querySelector('form')
const said = document.querySelector('#said')
const button = form.querySelector('button')
const code = decodeURIComponent(location.hash.slice(1))

function done(words) {
  form.hidden = true
  said.textContent = words
}

async function send(by) {
  const answer = await fetch('/v1/acknowledgements', {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ code, by }),
  })
  if (answer.ok) return done('Thank you. The agency sees that you have read it.')
  const problem = await answer.json().catch(() => ({}))
  said.textContent = `${problem.detail ?? 'The service did not answer as it should'}.`
}

if (!code)
  done('This link is not whole. Copy all of it from the message, or say so to the agency by telephone.')
form.addEventListener('submit', async (event) => {
  event.preventDefault()
  button.disabled = true
  said.textContent = ''
  try {
    await send(form.elements.by.value.trim())
  } catch {
    said.textContent = 'The service was not reached. Try again, or tell the agency by telephone.'
  }
  button.disabled = false
})
