/**
 * The door of this room: a run as a folder of plain files, and back (docs/recording.md).
 */
export { exportRun } from './export.ts';
export { importRecording } from './import.ts';
export { type Recording, readRecording, recordingOf } from './read.ts';
export { type RecordingCheck, readVerified, verifyRecording } from './verify.ts';
export { type RunToWrite, writeRecording } from './write.ts';
