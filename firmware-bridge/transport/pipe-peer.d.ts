/** The far end of the in-process pipe: a kit without a cable (the simulated rig). */
export interface PipePeer {
  /** Begin to send; `toBridge` takes bytes as a wire would deliver them. */
  start(toBridge: (bytes: Uint8Array) => void): void;
  fromBridge(bytes: Uint8Array): void;
  stop(): void;
}
