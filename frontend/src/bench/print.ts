// For paper, each strip chart is copied as it stands: a print lays out faster than charts redraw.

import { drawAll } from "../sight";
import { el } from "./dom";

function copy(plot: Element): void {
  const drawn = plot.querySelector<HTMLCanvasElement>(".u-wrap > canvas");
  const over = plot.querySelector<HTMLElement>(".u-over");
  if (!drawn || !over) return;
  const sheet = el("canvas", { class: "snapshot", width: drawn.width, height: drawn.height });
  const pen = sheet.getContext("2d");
  pen?.drawImage(drawn, 0, 0);
  const layer = over.querySelector("canvas");
  if (layer?.width) pen?.drawImage(layer, over.offsetLeft * devicePixelRatio, over.offsetTop * devicePixelRatio);
  plot.append(sheet);
}

export function printable(): void {
  const clear = (): void => document.querySelectorAll(".snapshot").forEach((sheet) => sheet.remove());
  addEventListener("beforeprint", () => {
    clear();
    drawAll();
    document.querySelectorAll<HTMLDetailsElement>("details.cautions").forEach((held) => (held.open = true));
    document.querySelectorAll(".plot").forEach(copy);
  });
  addEventListener("afterprint", clear);
}
