// Sending the drawing. The answer says what became of it; whatever it is, nothing on the page is lost.

export const OUTCOME = Object.freeze({
  SAVED: "saved", CONFLICT: "conflict", REFUSED: "refused", LOGGED_OUT: "logged_out", NO_ANSWER: "no_answer",
});
const BY_STATUS = { 200: OUTCOME.SAVED, 409: OUTCOME.CONFLICT, 422: OUTCOME.REFUSED, 403: OUTCOME.LOGGED_OUT };
const SECONDS = 20;

export async function send(address, body) {
  try {
    const answer = await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
      body: JSON.stringify(body),
      redirect: "manual",
      signal: AbortSignal.timeout(SECONDS * 1000),
    });
    if (answer.type === "opaqueredirect") return { outcome: OUTCOME.LOGGED_OUT };
    const outcome = BY_STATUS[answer.status];
    if (!outcome) return { outcome: OUTCOME.NO_ANSWER };
    const said = outcome === OUTCOME.LOGGED_OUT ? {} : await answer.json();
    return { outcome, ...said };
  } catch {
    return { outcome: OUTCOME.NO_ANSWER };
  }
}

// The cookie, not the page: somebody who logs in again in another tab gets a new one.
function token() {
  return document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
}
