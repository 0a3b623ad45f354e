import { parentPort } from 'node:worker_threads'
import { Failure } from '#core/base'
import { type Kernels, memoryOver, plainKernels, SCRATCH_BYTES, type TaskContext } from '#core/kernels'
import { taskNamed } from '#jobs/tasks'
import { COUNTER_AT, type StepMessage, type StepReply, type WorkerStart } from './crew.ts'

/** What the first message makes of this thread. */
function settle(start: WorkerStart): { context: TaskContext; counter: Int32Array } {
  const buffer = start.memory ? start.memory.buffer : start.plainBuffer!
  const memory = memoryOver(buffer)
  const kernels =
    start.module && start.memory
      ? (new WebAssembly.Instance(start.module, { env: { memory: start.memory } }).exports as unknown as Kernels)
      : plainKernels(memory)
  const context: TaskContext = { kernels, memory, scratch: start.scratch, scratchBytes: SCRATCH_BYTES }
  return { context, counter: new Int32Array(buffer, COUNTER_AT, 1) }
}

async function step({ context, counter }: ReturnType<typeof settle>, message: StepMessage): Promise<StepReply> {
  const task = await taskNamed(message.task)
  if (!task) return { ok: false, failure: null, stack: `no task named ${message.task}` }
  try {
    for (;;) {
      const item = Atomics.add(counter, 0, 1)
      if (item >= message.items) return { ok: true }
      task(context, message.params, item)
    }
  } catch (error) {
    // The others stop at their next item.
    Atomics.store(counter, 0, message.items)
    if (error instanceof Failure) return { ok: false, failure: error.toJSON(), stack: '' }
    return { ok: false, failure: null, stack: error instanceof Error ? (error.stack ?? error.message) : String(error) }
  }
}

parentPort!.once('message', (start: WorkerStart) => {
  const place = settle(start)
  parentPort!.on('message', async (message: StepMessage) => parentPort!.postMessage(await step(place, message)))
})
