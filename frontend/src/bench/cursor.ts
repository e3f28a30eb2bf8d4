// One time cursor for the whole page, in seconds after midnight UTC; it can be played.

type Follower = (time: number, from: object | null) => void;

export const SPEEDS = [1, 2, 5, 10, 30];

export class Cursor {
  time = NaN;
  speed = 1;
  playing = false;
  /** Seconds between the frames of the last play, for the measure of its evenness. */
  readonly frames: number[] = [];
  private readonly followers: Follower[] = [];
  private readonly players: ((playing: boolean) => void)[] = [];

  follow(follower: Follower): void {
    this.followers.push(follower);
  }

  onPlay(told: (playing: boolean) => void): void {
    this.players.push(told);
  }

  /** Set the time; whoever set it is told who did, so that nobody answers itself. */
  set(time: number, from: object | null = null): void {
    if (time === this.time) return;
    this.time = time;
    for (const follower of this.followers) follower(time, from);
  }

  /** Play from the present time to `end`; each frame moves lines, and draws nothing anew. */
  play(begin: number, end: number): void {
    if (this.playing) return this.pause();
    this.playing = true;
    this.frames.length = 0;
    this.players.forEach((told) => told(true));
    const from = this.time >= begin && this.time < end - 0.05 ? this.time : begin;
    let last: number | null = null;
    let time = from;
    const step = (now: number): void => {
      if (!this.playing) return;
      if (last !== null) {
        time += ((now - last) / 1000) * this.speed;
        this.frames.push((now - last) / 1000);
      }
      last = now;
      this.set(Math.min(time, end));
      if (time >= end) this.pause();
      else requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  pause(): void {
    this.playing = false;
    this.players.forEach((told) => told(false));
  }
}
