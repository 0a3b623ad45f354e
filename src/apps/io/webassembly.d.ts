/** The part of the WebAssembly JavaScript interface (W3C, 2019) used here; Node has it, its type package does not declare it. */
declare namespace WebAssembly {
  class Module {
    constructor(bytes: Uint8Array)
  }
  class Memory {
    constructor(descriptor: { initial: number; maximum: number; shared: boolean })
    readonly buffer: SharedArrayBuffer
  }
  class Instance {
    constructor(module: Module, imports: Record<string, Record<string, unknown>>)
    readonly exports: Record<string, unknown>
  }
  function compile(bytes: Uint8Array): Promise<Module>
}
