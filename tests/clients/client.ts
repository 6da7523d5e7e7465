import createClient from "openapi-fetch";
import type { paths } from "./generated/schema.d.ts";

export const client = createClient<paths>({
  baseUrl: process.env["SERVICE"]!,
  headers: { Authorization: `Bearer ${process.env["KEY"]}` },
});

/** For a body that is a table: what openapi-fetch needs to be told to send it as it is. */
export const table = { bodySerializer: (body: string) => body, headers: { "Content-Type": "text/csv" } };

interface Answer {
  data?: unknown;
  error?: unknown;
  response: Response;
}

/** Awaits one typed call and throws unless it was answered with data. */
export async function call(name: string, pending: Promise<Answer>): Promise<void> {
  const { data, error, response } = await pending;
  if (!response.ok || data === undefined) {
    throw new Error(`${name}: ${response.status} ${JSON.stringify(error)}`);
  }
  console.log(`typescript ${name}: ${response.status}`);
}
