// Ordered times.

/** Index of the last of ordered times that is not after `time`. */
export function indexAt(times: Float32Array, time: number): number {
  let low = 0;
  let high = times.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (times[middle] <= time) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** The value of a curve at any time, along straight lines; that of the nearest end outside. */
export function valueAt(times: Float32Array, values: Float32Array, time: number): number {
  const at = indexAt(times, time);
  const next = Math.min(at + 1, times.length - 1);
  const share = next === at ? 0 : Math.min(Math.max((time - times[at]) / (times[next] - times[at]), 0), 1);
  return share === 0 ? values[at] : values[at] + share * (values[next] - values[at]);
}
