// validatorUrl is null because the default one would send the document to another host.
window.addEventListener("load", () => {
  SwaggerUIBundle({
    url: "/v1/openapi.json",
    dom_id: "#reference",
    deepLinking: true,
    validatorUrl: null,
    tryItOutEnabled: true,
    defaultModelsExpandDepth: 0,
  });
});
