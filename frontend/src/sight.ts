// What is out of sight is not drawn until it is seen; printing sees everything.

export class Sight {
  /** Taken as seen until the browser says otherwise. */
  seen = true;
  private late = false;

  constructor(element: Element, private readonly draw: () => void) {
    new IntersectionObserver(
      (entries) => {
        this.seen = entries[entries.length - 1].isIntersecting;
        if (this.seen) this.flush();
      },
      { rootMargin: "200px 0px" },
    ).observe(element);
    addEventListener("beforeprint", () => this.flush());
  }

  /** Draw now, or when it comes into sight. */
  ask(): void {
    this.late = true;
    if (this.seen) this.flush();
  }

  private flush(): void {
    if (!this.late) return;
    this.late = false;
    this.draw();
  }
}
