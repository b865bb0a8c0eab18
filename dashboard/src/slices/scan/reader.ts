// Reads codes out of the picture of a camera: with the browser's own detector where there is one, else with a reader of ours
// that is fetched from our own server when it is wanted.
export type Read = (video: HTMLVideoElement) => Promise<string[]>

interface Detector {
  detect(source: CanvasImageSource): Promise<{ rawValue: string }[]>
}
interface DetectorClass {
  new (options: { formats: string[] }): Detector
  getSupportedFormats(): Promise<string[]>
}

/** Our labels are QR codes; agencies bring older labels with the bare tag in one of the others. */
const OWN = ['qr_code', 'data_matrix', 'code_128', 'code_39']
/** The middle of the picture in this many points is plenty for a label that fills a third of it. */
const SIDE = 640

export async function makeReader(): Promise<Read> {
  return (await builtIn()) ?? (await ours())
}

async function builtIn(): Promise<Read | null> {
  const Detector = (globalThis as { BarcodeDetector?: DetectorClass }).BarcodeDetector
  if (!Detector) return null
  try {
    const known = await Detector.getSupportedFormats()
    if (!known.includes('qr_code')) return null
    const detector = new Detector({ formats: OWN.filter((format) => known.includes(format)) })
    return async (video) => (await detector.detect(video)).map((found) => found.rawValue)
  } catch {
    return null
  }
}

async function ours(): Promise<Read> {
  const [{ prepareZXingModule, readBarcodes }, { default: wasm }] = await Promise.all([
    import('zxing-wasm/reader'),
    import('zxing-wasm/reader/zxing_reader.wasm?url'),
  ])
  const locateFile = (path: string, prefix: string) => (path.endsWith('.wasm') ? wasm : prefix + path)
  await prepareZXingModule({ overrides: { locateFile }, fireImmediately: true })
  const canvas = document.createElement('canvas')
  const pen = canvas.getContext('2d', { willReadFrequently: true })
  if (!pen) throw new Error('no canvas')
  return async (video) => {
    const side = Math.min(video.videoWidth, video.videoHeight)
    if (!side) return []
    canvas.width = canvas.height = Math.min(SIDE, side)
    const left = (video.videoWidth - side) / 2
    const top = (video.videoHeight - side) / 2
    pen.drawImage(video, left, top, side, side, 0, 0, canvas.width, canvas.height)
    const picture = pen.getImageData(0, 0, canvas.width, canvas.height)
    const found = await readBarcodes(picture, {
      formats: ['QRCode', 'DataMatrix', 'Code128', 'Code39'],
      maxNumberOfSymbols: 4,
    })
    return found.filter((one) => one.isValid).map((one) => one.text)
  }
}
