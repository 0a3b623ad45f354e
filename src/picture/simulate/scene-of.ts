import { patternScene } from './patterns.ts'
import type { Scene, SceneRequest } from './scene.ts'
import { townScene } from './town/index.ts'

/** The scene that a request names. */
export function sceneOf(request: SceneRequest, width: number, height: number): Scene {
  return request.kind === 'town' ? townScene(request.view, width, height) : patternScene(request, width)
}
