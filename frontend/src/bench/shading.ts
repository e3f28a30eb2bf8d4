// Hills as light and shade, of a grid of heights.

import type { Palette } from "../figure";
import type { GroundGrid } from "./types";

const [AZIMUTH, ELEVATION] = [315, 45].map((angle) => (angle * Math.PI) / 180); // where charts put the lamp
const STEEPER = 4; // heights are drawn so much steeper than they are
const FLAT = Math.sin(ELEVATION); // light on level ground
const LEVEL = 0.15; // of the way from paper to gray, where level ground lies

const channels = (color: string): number[] => [1, 3, 5].map((k) => parseInt(color.slice(k, k + 2), 16));

/** One pixel a post. Source: brightness of a matt surface, the cosine of the light's incidence. */
export function shaded({ count, west, east, south, north, height }: GroundGrid, palette: Palette): HTMLCanvasElement {
  const picture = document.createElement("canvas");
  [picture.width, picture.height] = [count, count];
  const pen = picture.getContext("2d")!;
  const image = pen.createImageData(count, count);
  const [dx, dy] = [(east - west) / (count - 1), (north - south) / (count - 1)];
  const lamp = [Math.sin(AZIMUTH) * Math.cos(ELEVATION), Math.cos(AZIMUTH) * Math.cos(ELEVATION), Math.sin(ELEVATION)];
  const [paper, ink] = [channels(palette.paper), channels(palette.quiet)];
  const night = paper[1] < ink[1];
  const at = (row: number, column: number): number =>
    height[Math.min(Math.max(row, 0), count - 1) * count + Math.min(Math.max(column, 0), count - 1)];
  for (let row = 0; row < count; row++) {
    for (let column = 0; column < count; column++) {
      const slopeEast = (STEEPER * (at(row, column + 1) - at(row, column - 1))) / (2 * dx);
      const slopeNorth = (STEEPER * (at(row + 1, column) - at(row - 1, column))) / (2 * dy);
      const light = (lamp[2] - slopeEast * lamp[0] - slopeNorth * lamp[1]) / Math.hypot(slopeEast, slopeNorth, 1);
      const k = 4 * ((count - 1 - row) * count + column); // rows of the grid run north, those of a picture south
      if (!Number.isFinite(light)) continue;
      // On light paper shade is drawn, on dark paper light: slopes to the lamp are the brighter ones on both.
      const gray = Math.min(Math.max(LEVEL + (night ? light - FLAT : FLAT - light), 0), 1);
      for (let c = 0; c < 3; c++) image.data[k + c] = paper[c] + (ink[c] - paper[c]) * gray;
      image.data[k + 3] = 255;
    }
  }
  pen.putImageData(image, 0, 0);
  return picture;
}
