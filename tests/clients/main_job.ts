// The main job, by openapi-fetch on the types that openapi-typescript made of the document.
// node main_job.ts ADDRESS REQUEST, with the key in EVENBAY_KEY.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import createClient from "openapi-fetch";
import type { components, paths } from "./evenbay.ts";

type Schemas = components["schemas"];
type Problem = Schemas["Problem"];

const [address, request] = process.argv.slice(2);
assert(address && request);
const order: Schemas["QuoteRequest"] = JSON.parse(readFileSync(request, "utf8"));
const client = createClient<paths>({
  baseUrl: address,
  headers: { Authorization: `Bearer ${process.env["EVENBAY_KEY"]}` },
});

// What was asked for, or the problem that the service answered instead.
function given<Data>(answer: { data?: Data; error?: Problem }): Data {
  if (answer.data === undefined) throw new Error(answer.error?.detail ?? "no problem details");
  return answer.data;
}

async function quoted(): Promise<Schemas["Quote"]> {
  const quote = given(await client.POST("/v1/quotes", { body: order }));
  const cents = (amount: string): bigint => BigInt(amount.replace(".", ""));
  const goods = quote.lines.filter((line) => line.kind === "goods");
  assert(goods.length > 0);
  const sum = goods.reduce((total, line) => total + cents(line.net.amount), 0n);
  assert.equal(sum, cents(quote.totals.goods.amount));
  for (const section of quote.layout.sections) assert.equal(section.infill, null);
  return quote;
}

async function readBack(quote: Schemas["Quote"]): Promise<void> {
  const params = { path: { quote_id: quote.id } };
  assert.deepEqual(given(await client.GET("/v1/quotes/{quote_id}", { params })), quote);
  const drawn = await client.GET("/v1/quotes/{quote_id}/drawing.svg", { params, parseAs: "text" });
  assert.match(given(drawn), /<svg/);
}

async function accepted(quote: Schemas["Quote"]): Promise<Schemas["QuoteState"]> {
  const params = { path: { quote_id: quote.id } };
  const answer = given(await client.POST("/v1/quotes/{quote_id}/accept", { params }));
  const state = given(await client.GET("/v1/quotes/{quote_id}/state", { params }));
  assert.deepEqual(state, answer);
  assert.equal(state.state satisfies Schemas["Standing"], "accepted");
  return state;
}

async function shelved(): Promise<Schemas["Offcut"]> {
  const body: Schemas["OffcutRequest"] = {
    sku: "LK-TR",
    length: { value: "54.125", unit: "in" },
    value: "6.50",
  };
  const offcut = given(await client.POST("/v1/offcuts", { body }));
  const query = { sku: "LK-TR", units: "imperial" } as const;
  const page = given(await client.GET("/v1/offcuts", { params: { query } }));
  assert(page.offcuts.some((found) => found.id === offcut.id && found.state === "available"));
  return offcut;
}

async function refused(): Promise<Problem> {
  const wrong = structuredClone(order);
  const level = wrong.deck.levels[0];
  assert(level);
  level.height_above_ground = "4";
  const { data, error, response } = await client.POST("/v1/quotes", { body: wrong });
  assert.equal(response.status, 422);
  assert(data === undefined && error !== undefined);
  assert.equal(error.type, "/problems/invalid-request");
  assert.equal(error.errors?.[0]?.pointer, "#/deck/levels/0/height_above_ground");
  assert.match(error.errors[0].detail, /unit/);
  return error;
}

const quote = await quoted();
await readBack(quote);
const state = await accepted(quote);
const offcut = await shelved();
const problem = await refused();
const { amount, currency } = quote.totals.gross;
console.log(`TypeScript: ${quote.reference}: ${amount} ${currency}, ${state.state};`);
console.log(`            offcut ${offcut.length.text}; refused: ${problem.detail}`);
