// Books, starts and sweeps with the types that openapi-typescript made: `URL DEMO STARTUP SWEEP`.
import { strict as assert } from "node:assert";
import { readFileSync } from "node:fs";
import createClient from "openapi-fetch";
import type { components, paths } from "./types";

type Schemas = components["schemas"];
const [url, demo, startup, sweep] = process.argv.slice(2) as [string, string, string, string];
const read = <T>(path: string): T => JSON.parse(readFileSync(path, "utf-8")) as T;

async function main(): Promise<void> {
  const client = createClient<paths>({ baseUrl: url });
  const fleet = read<Schemas["BookingFleet"]>(`${demo}/fleet.json`);
  const kept = await client.PUT("/v1/fleets/{id}", { params: { path: { id: "demo" } }, body: fleet });
  assert.equal(kept.data?.version, 1);
  const { fleet: _, ...sent } = read<Schemas["BookingOrder"]>(`${demo}/order-indoor.json`);
  const order: Schemas["BookingOrder"] = { ...sent, fleet_id: "demo" };
  const path = { reference: order.reference };
  const booked = await client.PUT("/v1/bookings/{reference}", { params: { path }, body: order });
  assert.equal(booked.data?.state, "held");
  const refused = await client.POST("/v1/bookings/{reference}/return", { params: { path } });
  assert.equal(refused.error?.status, 409);
  const started = await client.PUT("/v1/startups/{id}", {
    params: { path: { id: "S-1" } },
    body: read<Schemas["StartupDocument"]>(startup),
  });
  assert.equal(started.response.status, 201);
  const verdict = await client.GET("/v1/startups/{id}", { params: { path: { id: "S-1" } } });
  assert.ok(typeof verdict.data === "object" && ["wait", "blocked"].includes(verdict.data.verdict.results.status));
  const swept = await client.POST("/v1/sweeps", { body: read<Schemas["Sweep"]>(sweep) });
  assert.ok(typeof swept.data === "object" && swept.data.rows.length > 1);
}

main().catch((error: unknown) => {
  console.error(error);
  process.exit(1);
});
