/** Sums over the rows of one column in one regime, from which the squares about any line follow. */
export class Course {
  n = 0;
  private t = 0;
  private tt = 0;
  private y = 0;
  private ty = 0;
  private yy = 0;

  add(age: number, value: number): void {
    this.n += 1;
    this.t += age;
    this.tt += age * age;
    this.y += value;
    this.ty += age * value;
    this.yy += value * value;
  }

  /** The rows of this that are not in `part`. */
  without(part: Course): Course {
    const rest = new Course();
    rest.n = this.n - part.n;
    rest.t = this.t - part.t;
    rest.tt = this.tt - part.tt;
    rest.y = this.y - part.y;
    rest.ty = this.ty - part.ty;
    rest.yy = this.yy - part.yy;
    return rest;
  }

  /** The line of least squares: its value at age 0, and what it gains a row. */
  line(): { level: number; slope: number } {
    const spread = this.tt - (this.t * this.t) / this.n;
    const slope = spread > 0 ? (this.ty - (this.t * this.y) / this.n) / spread : 0;
    return { level: (this.y - slope * this.t) / this.n, slope };
  }

  /** Squares about the mean. */
  aboutMean(): number {
    return this.n > 0 ? Math.max(0, this.yy - (this.y * this.y) / this.n) : 0;
  }

  /** Squares about a given line; without one, about that of least squares. */
  aboutLine({ level, slope } = this.line()): number {
    const { n, t, tt, y, ty, yy } = this;
    const squares =
      yy - 2 * level * y - 2 * slope * ty + level * level * n + 2 * level * slope * t + slope * slope * tt;
    return n > 0 ? Math.max(0, squares) : 0;
  }
}

/** Standard errors that a slope must stand off from nought to be believed: noise that remembers looks like one. */
const sure = 5;

/** Slope of a few values, a row; 0 unless it is sure under noise as its residuals remember. */
export function sureSlope(values: readonly number[]): number {
  const n = values.length;
  const first = values[0] ?? 0;
  const course = new Course();
  values.forEach((v, i) => course.add(i, v - first));
  const { level, slope } = course.line();
  const left = values.map((v, i) => v - first - level - slope * i);
  const squares = left.reduce((s, v) => s + v * v, 0);
  if (!(squares > 0) || n < 8) return 0;
  const next = left.slice(1).reduce((s, v, i) => s + v * (left[i] ?? 0), 0);
  const memory = Math.max(0, Math.min(0.95, next / squares));
  const error = Math.sqrt(((squares / (n - 2)) * 12 * (1 + memory)) / (n * (n * n - 1) * (1 - memory)));
  return Math.abs(slope) > sure * error ? slope : 0;
}
