// Pairing: the code comes behind the # of a scanned address, or is typed.
const form = document.getElementById("form");
const code = document.getElementById("code");
const note = document.getElementById("note");

form.addEventListener("submit", (event) => {
  event.preventDefault();
  pair(code.value);
});

function fromAddress() {
  const given = location.hash.slice(1);
  if (!given) return code.focus();
  history.replaceState(null, "", "/pair");
  code.value = given;
  pair(given);
}

async function pair(typed) {
  note.textContent = "";
  let reply;
  try {
    reply = await fetch("/pair", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ code: typed }),
    });
  } catch {
    note.textContent = "The host can’t be reached. Is this phone on the same network?";
    return;
  }
  if (reply.ok) return location.replace("/");
  const told = await reply.json().catch(() => ({}));
  note.textContent = `Not paired: ${told.refused || "the host refused"}.`;
  code.select();
  note.scrollIntoView({ block: "nearest" });
}

addEventListener("hashchange", fromAddress);
fromAddress();
