// One act, one POST. Nothing is ever sent again by itself: a press that did not get through is the
// person's to repeat, since hands may be back in the machine by then.
const WAIT_MS = 5_000;
let token = "";

export function useToken(given) {
  token = given;
}

// { ok, reason, told }: whether the host took it, and if not, why, in words.
export async function post(path, body) {
  let reply;
  try {
    reply = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-Hostctl-Token": token },
      body: JSON.stringify(body),
      signal: AbortSignal.timeout(WAIT_MS),
    });
  } catch {
    return { ok: false, reason: "It did not get through to the host.", told: {} };
  }
  const told = await reply.json().catch(() => ({}));
  return { ok: reply.ok, reason: told.refused || `The host answered ${reply.status}.`, told };
}
