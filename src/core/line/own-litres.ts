/**
 * Which part of the flow comes from the emitter that is worked on, by litres of the loop: another may be open beside it for
 * a while. What the emitter itself has given is what counts for its own water.
 */
export class OwnLitres {
  /** From these litres on, this share; in order. */
  private readonly shares: { readonly fromL: number; readonly share: number }[] = [{ fromL: 0, share: 1 }];

  /** Now. */
  get share(): number {
    return this.shares.at(-1)?.share ?? 1;
  }

  /** Told afterwards: so it has been since `fromL`. */
  set(share: number, fromL: number): void {
    while (this.shares.length > 1 && (this.shares.at(-1)?.fromL ?? 0) >= fromL) this.shares.pop();
    this.shares.push({ fromL, share });
  }

  /** Another emitter: what was does not count any more. */
  begin(): void {
    this.shares.splice(0, this.shares.length, { fromL: 0, share: 1 });
  }

  /** Was it less than the whole at any time since then? */
  isSharedSince(sinceL: number): boolean {
    return this.shares.some(({ share }, i) => share < 1 && (this.shares[i + 1]?.fromL ?? Infinity) > sinceL);
  }

  /** Litres of the loop after `sinceL` with which so many of the emitter's own have flowed, if it stays as it is now. */
  loopL(ownL: number, sinceL: number): number {
    let passedL = 0;
    let restL = ownL;
    for (const [i, { share }] of this.shares.entries()) {
      const stretchL = (this.shares[i + 1]?.fromL ?? Infinity) - sinceL - passedL;
      if (stretchL <= 0) continue;
      if (stretchL * share >= restL) return passedL + restL / share;
      passedL += stretchL;
      restL -= stretchL * share;
    }
    return passedL;
  }
}
