// The list of cases: beginning a new one.

import { Refused, send } from "./bench/api";
import { part } from "./bench/dom";

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

part<HTMLFormElement>("begin").addEventListener("submit", (event) => {
  event.preventDefault();
  void begin();
});
part<HTMLButtonElement>("begin-act").disabled = false; // until now nothing would have answered it
