import { mount } from 'svelte'
import '@/ui/tokens.css'
import '@/ui/base.css'
import Desk from './Desk.svelte'

const target = document.getElementById('desk')
if (target) mount(Desk, { target })
