// The API's description, to read and to try. Everything comes from the service itself.
window.SwaggerUIBundle({
  url: '/openapi.json',
  dom_id: '#docs',
  deepLinking: true,
  docExpansion: 'none',
  defaultModelsExpandDepth: 0,
  filter: true,
  validatorUrl: null,
})
