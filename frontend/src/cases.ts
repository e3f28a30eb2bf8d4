// The list of cases: beginning a new one.

import { Refused, send } from "./bench/api";
import { part } from "./bench/dom";
import "./bench/theme"; // the colors that were chosen in a notebook

const field = (name: string): HTMLInputElement => part<HTMLInputElement>(`begin-${name}`);

async function begin(): Promise<void> {
  const said = part("begin-said");
  const name = field("name");
  const body = { name: name.value.trim(), title: field("title").value, question: field("question").value };
  name.removeAttribute("aria-invalid");
  try {
    const answer = await send("POST", "/cases", { body });
    const made = (await answer.json()) as { case: string };
    location.assign(`/c/${encodeURIComponent(made.case)}/`);
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    said.className = "error";
    said.textContent = body.name ? problem.said : "Give the folder a name.";
    name.setAttribute("aria-invalid", "true");
    name.focus();
  }
}

/** A name of a folder that a file's name suggests. */
const named = (file: string): string => file.replace(/\.[^.]*$/, "").replace(/[^\p{L}\p{N} _-]+/gu, "-").slice(0, 60) || "flight";

/** A case for a file: a name that is taken gets a number; then the page of the case shows the file. */
async function beginWith(file: File): Promise<void> {
  const said = part("drop-said");
  said.className = "";
  said.textContent = `Reading ${file.name} \u2026`;
  try {
    if (/\.zip$/i.test(file.name)) {
      const taken = (await (await send("PUT", "/cases", { raw: file })).json()) as { case: string };
      location.assign(`/c/${encodeURIComponent(taken.case)}/`);
      return;
    }
    const name = await beginNamed(named(file.name));
    const asked = { name: file.name };
    await send("PUT", `/c/${encodeURIComponent(name)}/api/file`, { raw: file, asked });
    location.assign(`/c/${encodeURIComponent(name)}/?look=${encodeURIComponent(file.name)}#evidence`);
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    said.className = "error";
    said.textContent = problem.said;
  }
}

async function beginNamed(base: string): Promise<string> {
  for (let number = 1; ; number++) {
    const name = number === 1 ? base : `${base} ${number}`;
    try {
      const answer = await send("POST", "/cases", { body: { name, title: "", question: "" } });
      return ((await answer.json()) as { case: string }).case;
    } catch (problem) {
      if (!(problem instanceof Refused) || problem.code !== "case-exists" || number > 99) throw problem;
    }
  }
}

async function example(): Promise<void> {
  try {
    const answer = await send("POST", "/cases", { body: { example: true } });
    location.assign(`/c/${encodeURIComponent(((await answer.json()) as { case: string }).case)}/#evidence`);
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    part("drop-said").textContent = problem.said;
  }
}

function wireDrop(): void {
  const drop = part("drop");
  for (const name of ["dragover", "drop"]) addEventListener(name, (event) => event.preventDefault());
  addEventListener("dragenter", () => drop.classList.add("over"));
  addEventListener("dragleave", (event) => event.relatedTarget === null && drop.classList.remove("over"));
  addEventListener("drop", (event) => {
    drop.classList.remove("over");
    const file = event.dataTransfer?.files[0];
    if (file) void beginWith(file);
  });
  const pick = part<HTMLInputElement>("pick");
  pick.addEventListener("change", () => pick.files?.[0] && void beginWith(pick.files[0]));
  part("example").addEventListener("click", () => void example());
  part<HTMLButtonElement>("example").disabled = false;
}

wireDrop();
part<HTMLFormElement>("begin").addEventListener("submit", (event) => {
  event.preventDefault();
  void begin();
});
part<HTMLButtonElement>("begin-act").disabled = false; // until now nothing would have answered it
