import type { TaskTable } from '#core/kernels'


/** Every task of every picture room, by name: what a worker thread can do. Kept apart from the jobs so that a worker starts light. */
export const tasks: TaskTable = {

}
