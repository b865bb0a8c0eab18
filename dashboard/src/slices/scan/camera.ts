// The camera of the phone: opened for one screen, closed with it.
export type CameraFault = 'insecure' | 'refused' | 'none' | 'busy' | 'failed'

export interface Camera {
  stream: MediaStream
  /** Null where the lamp cannot be switched. */
  torch: ((on: boolean) => Promise<void>) | null
  close(): void
}

export async function openCamera(): Promise<Camera> {
  if (!isSecureContext || !navigator.mediaDevices) throw 'insecure' satisfies CameraFault
  let stream: MediaStream
  try {
    stream = await navigator.mediaDevices.getUserMedia({
      audio: false,
      video: { facingMode: { ideal: 'environment' }, width: { ideal: 1280 }, height: { ideal: 720 } },
    })
  } catch (fault) {
    throw faultOf(fault)
  }
  const [track] = stream.getVideoTracks()
  // The lamp is not in the types of the DOM; a camera that has none says so in its capabilities.
  const can = (track?.getCapabilities?.() ?? {}) as { torch?: boolean }
  const torch = can.torch
    ? async (on: boolean) => {
        await track?.applyConstraints({ advanced: [{ torch: on } as MediaTrackConstraintSet] })
      }
    : null
  return { stream, torch, close: () => stream.getTracks().forEach((one) => one.stop()) }
}

function faultOf(fault: unknown): CameraFault {
  switch (fault instanceof DOMException ? fault.name : '') {
    case 'NotAllowedError':
    case 'SecurityError':
      return 'refused'
    case 'NotFoundError':
    case 'OverconstrainedError':
      return 'none'
    case 'NotReadableError':
    case 'AbortError':
      return 'busy'
    default:
      return 'failed'
  }
}

/** What is the matter, and what a person can do about it. Typing always works. */
export const FAULT_WORDS: Record<CameraFault | 'reader', { title: string; todo: string }> = {
  insecure: {
    title: 'The browser gives no camera to this address',
    todo: 'Open Fullset by its https address. Until then, type the tag.',
  },
  refused: {
    title: 'The camera is not allowed',
    todo: 'Allow the camera for this page in the browser’s settings, then try again. Or type the tag.',
  },
  none: { title: 'No camera was found', todo: 'Type the tag from the label.' },
  busy: {
    title: 'Another app holds the camera',
    todo: 'Close it, then try again. Or type the tag.',
  },
  failed: { title: 'The camera did not start', todo: 'Try again, or type the tag.' },
  reader: {
    title: 'The reader is not on this phone yet',
    todo: 'It is fetched once, when there is signal. Until then, type the tag.',
  },
}
