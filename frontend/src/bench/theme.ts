// Light or dark: as the system has it, or as chosen here; drawn charts take the same colours.

import type { Palette } from "../figure";
import { button, part } from "./dom";

const NAME = "np-theme";
type Theme = "light" | "dark";

// Colours of the dark sheet; `report/figures/palette.py` has the same, and a test compares them.
const DARK: Omit<Palette, "dashes"> = {
  paper: "#12181f",
  ink: "#e7ebee",
  quiet: "#a4afba",
  grid: "#2b343e",
  hatch: "#75808b",
  band90: "#1b3850",
  band50: "#2f618f",
  edge: "#6ea6d8",
  limit: "#ff8d92",
  event: "#c9a5f0",
  inks: ["#86c1f4", "#f2a65e", "#62cdbb", "#dfadd5"],
};

const system = matchMedia("(prefers-color-scheme: dark)");

const kept = (): Theme | null => {
  try {
    const held = localStorage.getItem(NAME);
    return held === "light" || held === "dark" ? held : null;
  } catch {
    return null;
  }
};

export const dark = (): boolean => (kept() ?? (system.matches ? "dark" : "light")) === "dark";

/** The palette of the server, or the dark one with the same dashes. */
export const themed = (palette: Palette): Palette => (dark() ? { ...DARK, dashes: palette.dashes } : palette);

function put(): void {
  document.documentElement.dataset.theme = dark() ? "dark" : "light";
}

/** The button that changes it; what is drawn on canvases is drawn again. */
export function themeButton(again: () => void): void {
  const place = part("theme");
  const name = (): string => (dark() ? "Light colors" : "Dark colors");
  const change = (): void => {
    put();
    act.textContent = name();
    again();
  };
  const act = button(name(), () => {
    try {
      localStorage.setItem(NAME, dark() ? "light" : "dark");
    } catch {
      return; // a browser that keeps nothing follows the system
    }
    change();
  });
  place.replaceChildren(act);
  system.addEventListener("change", change);
}

put();
