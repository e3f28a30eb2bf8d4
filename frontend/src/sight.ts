// What is out of sight is not drawn until it is seen; a print sees everything.

const every: Sight[] = [];

export class Sight {
  /** Taken as seen until the browser says otherwise. */
  seen = true;
  private late = false;

  constructor(element: Element, private readonly draw: () => void) {
    every.push(this);
    new IntersectionObserver(
      (entries) => {
        this.seen = entries[entries.length - 1].isIntersecting;
        if (this.seen) this.flush();
      },
      { rootMargin: "80px 0px" },
    ).observe(element);
  }

  /** Draw now, or when it comes into sight. */
  ask(): void {
    this.late = true;
    if (this.seen) this.flush();
  }

  flush(): void {
    if (!this.late) return;
    this.late = false;
    this.draw();
  }
}

/** Draw what is still owed, as before a print. */
export const drawAll = (): void => every.forEach((sight) => sight.flush());

/** Give a canvas its size; one that has it already keeps its store, which is slow to make anew. */
export function sized(canvas: HTMLCanvasElement, width: number, height: number): void {
  const [wide, high] = [Math.round(width * devicePixelRatio), Math.round(height * devicePixelRatio)];
  if (canvas.width !== wide) canvas.width = wide;
  if (canvas.height !== high) canvas.height = high;
}
