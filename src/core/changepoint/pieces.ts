/**
 * A function of the segment mean m, made of quadratics a m^2 + b m + c on intervals that follow one another, each with
 * the start (`from`) of the last segment that reaches it. What functional pruning keeps instead of a list of starts.
 */
export class Pieces {
  count = 0;
  /** Left edge of each piece; it reaches to the next one's, the last to `end`. */
  left = new Float64Array(32);
  a = new Float64Array(32);
  b = new Float64Array(32);
  c = new Float64Array(32);
  from = new Int32Array(32);
  readonly end: number;

  constructor(end: number) {
    this.end = end;
  }

  /** Append a piece; one that goes on as the last did is joined to it. */
  push(left: number, a: number, b: number, c: number, from: number): void {
    const i = this.count;
    if (i > 0) {
      const p = i - 1;
      if (this.from[p] === from && this.a[p] === a && this.b[p] === b && this.c[p] === c) return;
    }
    if (i === this.left.length) this.grow();
    this.left[i] = left;
    this.a[i] = a;
    this.b[i] = b;
    this.c[i] = c;
    this.from[i] = from;
    this.count = i + 1;
  }

  private grow(): void {
    const longer = <T extends Float64Array | Int32Array>(old: T, fresh: T): T => {
      fresh.set(old);
      return fresh;
    };
    const size = this.left.length * 2;
    this.left = longer(this.left, new Float64Array(size));
    this.a = longer(this.a, new Float64Array(size));
    this.b = longer(this.b, new Float64Array(size));
    this.c = longer(this.c, new Float64Array(size));
    this.from = longer(this.from, new Int32Array(size));
  }

  right(i: number): number {
    return i + 1 < this.count ? (this.left[i + 1] as number) : this.end;
  }

  /** Add (m - x)^2 everywhere. */
  addSquare(x: number): void {
    const b = -2 * x;
    const c = x * x;
    for (let i = 0; i < this.count; i++) {
      this.a[i] = (this.a[i] as number) + 1;
      this.b[i] = (this.b[i] as number) + b;
      this.c[i] = (this.c[i] as number) + c;
    }
  }

  /** This function plus min((m - x)^2, cap^2), into `out`. */
  plusCapped(x: number, cap: number, out: Pieces): void {
    out.count = 0;
    const low = x - cap;
    const high = x + cap;
    for (let i = 0; i < this.count; i++) {
      const a = this.a[i] as number;
      const b = this.b[i] as number;
      const c = this.c[i] as number;
      const from = this.from[i] as number;
      const left = this.left[i] as number;
      const right = this.right(i);
      if (left < low) out.push(left, a, b, c + cap * cap, from);
      if (right > low && left < high) out.push(Math.max(left, low), a + 1, b - 2 * x, c + x * x, from);
      if (right > high) out.push(Math.max(left, high), a, b, c + cap * cap, from);
    }
  }

  /** The lower of this and `other` at each mean, into `out`. Both must span the same interval. */
  lower(other: Pieces, out: Pieces): void {
    out.count = 0;
    let i = 0;
    let j = 0;
    let at = this.left[0] as number;
    while (i < this.count && j < other.count) {
      const r1 = this.right(i);
      const r2 = other.right(j);
      const to = Math.min(r1, r2);
      if (to > at) this.lowerOn(i, other, j, at, to, out);
      at = to;
      if (r1 <= to) i++;
      if (r2 <= to) j++;
    }
  }

  private lowerOn(i: number, other: Pieces, j: number, at: number, to: number, out: Pieces): void {
    const da = (this.a[i] as number) - (other.a[j] as number);
    const db = (this.b[i] as number) - (other.b[j] as number);
    const dc = (this.c[i] as number) - (other.c[j] as number);
    let r1 = Number.NaN;
    let r2 = Number.NaN;
    if (da !== 0) {
      const disc = db * db - 4 * da * dc;
      if (disc > 0) {
        // The stable form: no difference of two near numbers.
        const q = -0.5 * (db + (db < 0 ? -1 : 1) * Math.sqrt(disc));
        const u = q / da;
        const v = q !== 0 ? dc / q : u;
        r1 = u < v ? u : v;
        r2 = u < v ? v : u;
      }
    } else if (db !== 0) r1 = -dc / db;
    let left = at;
    for (let turn = 0; turn < 3; turn++) {
      let right = to;
      if (r1 > left && r1 < right) right = r1;
      if (r2 > left && r2 < right) right = r2;
      const mid = 0.5 * (left + right);
      if ((da * mid + db) * mid + dc <= 0)
        out.push(left, this.a[i] as number, this.b[i] as number, this.c[i] as number, this.from[i] as number);
      else out.push(left, other.a[j] as number, other.b[j] as number, other.c[j] as number, other.from[j] as number);
      if (right >= to) return;
      left = right;
    }
  }

  /** Least value, and the start that reaches it. */
  least(): { value: number; from: number } {
    let value = Infinity;
    let from = -1;
    for (let i = 0; i < this.count; i++) {
      const a = this.a[i] as number;
      const b = this.b[i] as number;
      const left = this.left[i] as number;
      const right = this.right(i);
      let m = a > 0 ? (-0.5 * b) / a : left;
      if (m < left) m = left;
      else if (m > right) m = right;
      const v = (a * m + b) * m + (this.c[i] as number);
      if (v < value) {
        value = v;
        from = this.from[i] as number;
      }
    }
    return { value, from };
  }
}
